"""Hands beside a unit that a test serves itself: its site desk behind a real control port."""

import contextlib
from collections.abc import AsyncIterator

from commission.cli.site import Site, SiteHands
from commission.practice.control_port import ControlPort
from commission.practice.site import SiteDesk
from commission.terminal.desk import Desk


class Beside:
    """A practice unit as the app sees it, served by the test."""

    def __init__(self, url: str, site: str) -> None:
        self.url = url
        self.site = site
        self.meters: dict[str, str] = {}

    @property
    def hands(self) -> SiteHands:
        """At the control port."""
        return SiteHands(Site(self.site))

    def end(self) -> None:
        """The test ends it."""


@contextlib.asynccontextmanager
async def hands_at(desk: Desk, site: SiteDesk, url: str = "") -> AsyncIterator[Beside]:
    """The desk's open visit is one that the unit was started for."""
    port = ControlPort(site)
    beside = Beside(url, await port.open())
    assert desk.visit is not None
    desk.practice, desk._practised = beside, desk.visit.path
    try:
        yield beside
    finally:
        await port.close()

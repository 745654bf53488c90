"""A valve that was stopped off its end: how long the return is one key away, and what ends that sooner."""

import asyncio
from pathlib import Path

import pytest

from commission.procedures.partial_stroke import partial_stroke
from commission.procedures.partial_told import Told
from commission.supervise.held import HELD_S, hold
from commission.supervise.safe_end import SafeEndReport, SafeEndSeen
from commission.supervise.watching import Watching
from tests.supervise.rig import Site, rig
from tests.virtual_time import run_virtual

STOPPED = SafeEndReport(SafeEndSeen.CONFIRMED, "the valve is seen at rest")
TOLD = Told(test="L2 1", steady_s=1.0, starts_used=1, line_change_bar=2.0)


class Quiet:
    """A watching that sees nothing new."""

    latest = None

    async def next(self, wait_s: float) -> None:
        """Only waits."""
        await asyncio.sleep(wait_s)


async def held(site: Site, once_more: asyncio.Event, *, goes_on: bool = True) -> tuple[float, SafeEndReport]:
    """How long it was held, and what came of it."""
    loop = asyncio.get_running_loop()
    procedure = partial_stroke(site.sheet, TOLD)
    begin = next(procedure)
    procedure.close()
    begun_s = loop.time()
    watching: Watching = Quiet()  # type: ignore[assignment]  # only these two are asked for
    report = await hold(begin, site.clock, watching, STOPPED, once_more, lambda: goes_on)  # type: ignore[arg-type]  # it is Begin
    return loop.time() - begun_s, report


def test_a_minute_a_key_or_the_end_of_leave(tmp_path: Path) -> None:
    """Whichever comes first; the stop stands as it was confirmed."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            lasted_s, report = await held(site, asyncio.Event())
            assert lasted_s == pytest.approx(HELD_S, abs=0.5)
            assert report is STOPPED
            key = asyncio.Event()
            asyncio.get_running_loop().call_later(5.0, key.set)
            lasted_s, _ = await held(site, key)
            assert lasted_s < 5.5
            lasted_s, _ = await held(site, asyncio.Event(), goes_on=False)
            assert lasted_s == 0.0

    run_virtual(main())

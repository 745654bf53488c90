"""`commission`: the keyboard app; main holds the visit, so that a crash of a screen is only a stop."""

import argparse
import asyncio
import os
from collections.abc import Awaitable, Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli import output
from commission.cli.folder import folder_of
from commission.cli.host import Ended, hold
from commission.cli.output import Status
from commission.cli.wishes import PracticeWishes
from commission.content import checklists_folder
from commission.terminal.app import CommissionApp
from commission.terminal.desk import PRACTICE_SPEED, Desk, PracticeUnit

if TYPE_CHECKING:  # practice is loaded where somebody practises, after the first paint
    from commission.cli.site import SiteHands
    from commission.cli.wishes import Practised
    from commission.practice.process import PracticeProcess
    from commission.supervise.surroundings import People
    from commission.terminal.auto import ByItself
    from commission.visit import Visit

STROKE_SPEED = 1.0
"""The one stroke is watched as it is."""

STROKE_STEP = "K1-closed"


class Started:
    """
    A practice unit as the app sees it.

    Args:
        process: The process that was started.
    """

    def __init__(self, process: "PracticeProcess") -> None:
        self._process = process

    @property
    def url(self) -> str:
        """What to connect to."""
        return self._process.at.url

    @property
    def site(self) -> str:
        """host:port of the people beside it."""
        return self._process.at.control

    @property
    def hands(self) -> "SiteHands":
        """Somebody who practises, beside it."""
        from commission.cli.site import Site, SiteHands  # noqa: PLC0415  # where somebody practises

        return SiteHands(Site(self.site))

    @property
    def meters(self) -> Mapping[str, str]:
        """Serial device of each instrument on its bench."""
        return self._process.at.meters

    def end(self) -> None:
        """End the process."""
        self._process.end()


def run(chosen: argparse.Namespace) -> Status:
    """Open the app."""
    return open_app(folder_of(chosen))


def open_app(
    folder: Path,
    *,
    by_itself: "Callable[[Desk, People], Awaitable[ByItself]] | None" = None,
    speed: float | None = None,
    practised: "Practised | None" = None,
    checklist: Path | None = None,
) -> Status:
    """
    Open the app on a folder of jobs; its status.

    Args:
        folder: Where jobs are kept.

        by_itself: Begins a job that is walked by itself while somebody watches.

        speed: Of practice units; None for what suits each.

        practised: The unit that somebody named to practise on, with seed and set-up; others are as their sheets say.

        checklist: What is practised on; the packed one where None.
    """
    output.quiet_library_logs()
    prepare = _prepare if speed is None else partial(_prepare, speed=speed)
    practice_speed = PRACTICE_SPEED if speed is None else speed
    wishes = PracticeWishes(practised, checklist)
    desk = Desk(
        folder,
        partial(_start_practice, wishes),
        prepare,
        by_itself=by_itself,
        practice_speed=practice_speed,
        wishes=wishes,
    )
    return asyncio.run(_hold(desk))


async def _hold(desk: Desk) -> Status:
    app = CommissionApp(desk)
    try:
        return Status(await hold(desk, app.run_to_end()))
    except Ended as ended:
        output.say(f"{ended}. Everything is in {desk.folder}.")
        return Status.DEVIATIONS


def _start_practice(wishes: PracticeWishes, sheet: Path, speed: float, start_at: str) -> PracticeUnit:
    from commission.practice.process import start  # noqa: PLC0415  # only where somebody practises

    setup, seed = wishes.setup(sheet), wishes.of(sheet).seed
    bench = os.name == "posix"  # where a program can make serial devices of its own
    return Started(start(sheet, speed=speed, start_at=start_at, seed=seed, setup=setup, meters=bench))


async def _prepare(desk: Desk, people: "People", speed: float = STROKE_SPEED) -> "tuple[Visit, str]":
    """The people of the answers file bring a fresh practice unit to live, valve open, commands proved."""
    from commission.cli.answers_file import load_answers  # noqa: PLC0415  # only where somebody practises
    from commission.cli.crew import Crew  # noqa: PLC0415  # as above
    from commission.cli.site import Site  # noqa: PLC0415  # as above
    from commission.face.dialogue import walk  # noqa: PLC0415  # as above

    sheet = checklists_folder() / "units" / "xv-1101.toml"
    unit = await asyncio.to_thread(desk.practise, sheet, speed)
    answers, _ = load_answers(checklists_folder() / "practice" / "one-stroke.toml")
    visit = desk.begin(sheet, people, answers.filed.by, checklists_folder() / "one-stroke.toml")
    await visit.connect(unit.url, other_master="none: a practice unit", agreed_by="nobody: practice", by="program")
    await walk(visit, Crew(answers, Site(unit.site), tell=lambda _line: None), until=STROKE_STEP)
    return visit, answers.filed.by

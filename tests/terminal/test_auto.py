"""The watched walk at a real practice unit: by itself to a result, paused by a key, and ended by the stop key."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot

from commission.cli.app import Started
from commission.cli.auto import Watched
from commission.content import checklists_folder
from commission.practice.process import start
from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.terminal.desk import Desk, PracticeUnit
from tests.terminal.moving_app import nothing_prepared

SHEET = checklists_folder() / "units" / "xv-1101.toml"
ANSWERS = checklists_folder() / "practice" / "one-stroke.toml"


@asynccontextmanager
async def walking(folder: Path) -> AsyncIterator[tuple[CommissionApp, Pilot[int]]]:
    """The app as `practice --auto --speed 60` opens it, on the short checklist."""

    def started(sheet: Path, speed: float, start_at: str) -> PracticeUnit:
        return Started(start(sheet, speed=speed, start_at=start_at))

    watched = Watched(SHEET, 60.0, answers=ANSWERS, checklist=checklists_folder() / "one-stroke.toml")
    desk = Desk(folder, started, nothing_prepared, by_itself=watched)
    app = CommissionApp(desk, Console(colour=True, drawing=True))
    async with asyncio.timeout(60), app.run_test(size=(80, 24)) as pilot:
        while app.watching is None or not steps_done(app):
            await pilot.pause(0.05)
        yield app, pilot
        await app.leave_visit("the test is over")
        await desk.close("the test is over")


def steps_done(app: CommissionApp) -> int:
    """How many steps have a verdict."""
    visit = app.desk.visit
    return 0 if visit is None else sum(1 for step in visit.job.steps.values() if step.last and step.last.verdict)


def events_of(app: CommissionApp) -> int:
    """How many facts the energy log and the steps hold: what an answer adds to."""
    visit = app.desk.visit
    assert visit is not None
    given = sum(len(step.last.answers) for step in visit.job.steps.values() if step.last is not None)
    return given + len(visit.job.energy_log.now.facts) + len(visit.job.steps)


@pytest.mark.slow
@pytest.mark.asyncio
async def test_a_key_pauses_and_the_stop_key_hands_over(tmp_path: Path) -> None:
    """Any key pauses it, the next goes on; SPACE ends it, and nobody's name answers until somebody says who."""
    async with walking(tmp_path) as (app, pilot):
        await pilot.press("x")
        await pilot.pause(0.5)
        stood_at = events_of(app)
        await pilot.pause(1.0)
        assert events_of(app) == stood_at
        await pilot.press("x")
        while events_of(app) == stood_at:
            await pilot.pause(0.05)
        await pilot.press("space")
        await pilot.pause(0.5)
        assert app.watching is None
        assert app.who == ""
        stood_at = events_of(app)
        await pilot.pause(1.0)
        assert events_of(app) == stood_at

"""
Makes a picture of every screen at 80 x 24, and its text at the other sizes and kinds of console, from visits to
practice units; where a test runs, it is shown while it runs.

    python -m tests.pictures OUT
"""

import asyncio
import re
import sys
import tempfile
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

from textual.screen import Screen

from commission.cli.wishes import PracticeWishes
from commission.content import checklists_folder
from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.terminal.screens.at_unit import AtUnitScreen
from commission.terminal.screens.connect import ConnectScreen
from commission.terminal.screens.deviations import DeviationsScreen
from commission.terminal.screens.film_clock import FilmClockScreen
from commission.terminal.screens.findings import FindingsScreen
from commission.terminal.screens.help import HelpScreen
from commission.terminal.screens.isolation import IsolationScreen
from commission.terminal.screens.jobs import JobsScreen
from commission.terminal.screens.meter import MeterScreen
from commission.terminal.screens.motion import MotionScreen
from commission.terminal.screens.points import PointsScreen
from commission.terminal.screens.report import ReportScreen
from commission.terminal.screens.result import ResultScreen
from commission.terminal.screens.sequence import SequenceScreen
from commission.terminal.screens.sign_off import SignOffScreen
from commission.terminal.screens.start import StartScreen
from commission.terminal.screens.temporary import TemporaryScreen
from commission.visit import Visit
from commission.walk import route
from commission.walk.confirm import Confirmation
from commission.walk.movement import next_test
from commission.walk.prompts import ConfirmMovement
from tests.rules.test_r17_watching import STEPS as WATCHED
from tests.terminal.beside import hands_at
from tests.terminal.moving_app import AppThere, app_at
from tests.terminal.prepared import COLOUR, LETTERS, Shown, frame, opened

XV_1101 = checklists_folder() / "units" / "xv-1101.toml"

SETTLE_S = 0.8
"""What a screen needs until its first readings and its report are there."""

SCREENS: dict[str, Callable[[Visit], Screen[Any]]] = {
    "jobs": lambda _visit: JobsScreen(),
    "start": lambda _visit: StartScreen(practice=True),
    "findings": lambda _visit: FindingsScreen("XV-1101", XV_1101, PracticeWishes()),
    "connect": ConnectScreen,
    "points": lambda _visit: PointsScreen(),
    "motion": MotionScreen,
    "result": lambda visit: ResultScreen(visit, list(visit.job.runs.values())[-1]),
    "isolation": lambda _visit: IsolationScreen(),
    "temporary": lambda _visit: TemporaryScreen(),
    "deviations": lambda _visit: DeviationsScreen(),
    "sequence": lambda _visit: SequenceScreen(),
    "report": lambda _visit: ReportScreen(),
    "sign-off": lambda _visit: SignOffScreen(),
    "at-unit": lambda _visit: AtUnitScreen(),
    "meter": lambda _visit: MeterScreen(),
    "film-clock": lambda _visit: FilmClockScreen(),
    "help": lambda _visit: HelpScreen(),
}
"""Every screen but the walk, which the app itself holds."""

WALK, CONNECT, MOTION = "walk", "connect", "motion"
CONFIRM, WIRING = "confirm", "wiring"
NAMES = (*SCREENS, WALK, CONFIRM, WIRING)
"""Everything that somebody can see."""

CALLED = "TURN THE SELECTOR TO LOCAL"
TOO_SMALL = "Make this window"
HALF_WAY_PCT = 40.0

KINDS = {
    "80x24-plain-letters": ((80, 24), LETTERS),
    "120x40": ((120, 40), COLOUR),
    "70x20": ((70, 20), COLOUR),
}
"""Of the texts: a console that draws nothing and knows no colour, a roomy window, one that is too small."""


async def show(there: Shown, name: str) -> None:
    """Show a screen on top of what is there."""
    if name != WALK:
        await there.show(SCREENS[name](there.visit))
        return
    walk = there.app.walk
    await there.show(walk)
    step = route.current(there.visit.job)
    if step is not None:
        walk.show_step(there.visit, step)


def picture(app: CommissionApp) -> str:
    """The screen as SVG: no font from elsewhere, no buttons of a window that is not there."""
    svg = app.export_screenshot(title="commission", simplify=True)
    return re.sub(r"@font-face\s*{.*?}|<circle[^>]*>|<!--.*?-->", "", svg, flags=re.DOTALL)


async def everything(size: tuple[int, int], shows: Console) -> AsyncIterator[tuple[str, CommissionApp]]:
    """Every screen by its name, each while it is shown; serial ports are those of no machine."""
    with tempfile.TemporaryDirectory() as folder:
        async with opened(Path(folder), size=size, shows=shows) as there, hands_at(there.app.desk, there.unit.desk):
            for name in (*SCREENS, WALK):
                if name not in (CONNECT, MOTION):
                    with patch(
                        "commission.terminal.screens.meter.serial_ports", return_value=()
                    ):  # those of no machine
                        await show(there, name)
                    await there.pilot.pause(SETTLE_S)
                    yield name, there.app
                    there.app.pop_screen()
    with tempfile.TemporaryDirectory() as folder:  # without a line, or there is nothing to connect
        async with opened(Path(folder), size=size, shows=shows, connected=False) as there:
            with patch("commission.terminal.screens.connect.serial_ports", return_value=()):
                await show(there, CONNECT)
            yield CONNECT, there.app
    async for name, app in running(size, shows):
        yield name, app


async def running(size: tuple[int, int], shows: Console) -> AsyncIterator[tuple[str, CommissionApp]]:
    """What is shown around a test that runs: its confirmation, a stroke half way, a proof that watches hands."""
    with tempfile.TemporaryDirectory() as folder:
        async with app_at(Path(folder), size=size, shows=shows) as at:
            await confirming(at)
            yield CONFIRM, at.app
            async with at.stroke(HALF_WAY_PCT):
                yield MOTION, at.app
    with tempfile.TemporaryDirectory() as folder:
        async with app_at(Path(folder), size=size, shows=shows, speed=10.0, live=False, steps=WATCHED) as at:
            showing = await watching(at)
            yield WIRING, at.app
            at.there.visit.stop("the picture", "it is taken")
            await at.until(lambda: type(at.app.screen).__name__ == "ResultScreen", "the result")
            await at.pilot.press("enter")
            await showing


async def confirming(at: AppThere) -> None:
    """The first stroke is to be confirmed in full (safety rule R13)."""
    step = at.there.visit.job.checklist.step("K1-open")
    prompt = ConfirmMovement(next_test(at.there.visit.job, step, step.procedures[0]), Confirmation.FULL)
    asked = asyncio.get_running_loop().create_task(at.app.walk.ask(at.there.visit, step, prompt))
    await at.pilot.pause(SETTLE_S)
    asked.cancel()


async def watching(at: AppThere) -> "asyncio.Task[None]":
    """The proof of the inputs has called its first contact."""
    at.there.arrive()
    at.there.cross("in operation", "locked", "control")
    loop = asyncio.get_running_loop()
    run = loop.create_task(at.there.run("I2"))
    await asyncio.sleep(0.05)
    showing = loop.create_task(at.app.speaker.moving(at.there.visit, run))
    await at.until(
        lambda: at.there.visit.in_motion and any(words in at.shown() for words in (CALLED, TOO_SMALL)), "a call"
    )
    return showing


async def make() -> dict[str, str]:
    """What is written, by file name."""
    made = {}
    async for name, app in everything((80, 24), COLOUR):
        made[f"{name}.svg"] = picture(app)
    for kind, (size, shows) in KINDS.items():
        async for name, app in everything(size, shows):
            made[f"{name}-{kind}.txt"] = "".join(f"{line}\n" for line in frame(app))
    return made


def write(out: Path) -> None:
    """Write the pictures into a folder."""
    out.mkdir(parents=True, exist_ok=True)
    for name, content in asyncio.run(make()).items():
        (out / name).write_text(content, encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))

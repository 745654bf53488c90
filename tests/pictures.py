"""
Makes a picture of every screen at 80 x 24, from a prepared visit to a practice unit.

    python -m tests.pictures OUT
"""

import asyncio
import re
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.screen import Screen

from commission.cli.wishes import PracticeWishes
from commission.content import checklists_folder
from commission.terminal.screens.at_unit import AtUnitScreen
from commission.terminal.screens.connect import ConnectScreen
from commission.terminal.screens.deviations import DeviationsScreen
from commission.terminal.screens.findings import FindingsScreen
from commission.terminal.screens.help import HelpScreen
from commission.terminal.screens.isolation import IsolationScreen
from commission.terminal.screens.jobs import JobsScreen
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
from tests.terminal.beside import hands_at
from tests.terminal.prepared import Shown, opened

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
    "help": lambda _visit: HelpScreen(),
}
"""Every screen but the walk, which the app itself holds."""

WALK, CONNECT = "walk", "connect"


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


def picture(there: Shown) -> str:
    """The screen as SVG: no font from elsewhere, no buttons of a window that is not there."""
    svg = there.app.export_screenshot(title="commission", simplify=True)
    return re.sub(r"@font-face\s*{.*?}|<circle[^>]*>|<!--.*?-->", "", svg, flags=re.DOTALL)


async def make(size: tuple[int, int] = (80, 24)) -> dict[str, str]:
    """The picture of every screen, by its name."""
    made = {}
    with tempfile.TemporaryDirectory() as folder:
        async with opened(Path(folder), size=size) as there, hands_at(there.app.desk, there.unit.desk):
            for name in (*SCREENS, WALK):
                if name != CONNECT:
                    await show(there, name)
                    await there.pilot.pause(SETTLE_S)
                    made[name] = picture(there)
                    there.app.pop_screen()
    with tempfile.TemporaryDirectory() as folder:  # without a line, or there is nothing to connect
        async with opened(Path(folder), size=size, connected=False) as there:
            await show(there, CONNECT)
            made[CONNECT] = picture(there)
    return made


def write(out: Path) -> None:
    """Write the pictures into a folder."""
    out.mkdir(parents=True, exist_ok=True)
    for name, svg in asyncio.run(make()).items():
        (out / f"{name}.svg").write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))

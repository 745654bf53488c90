"""
A visit that the screens are tested on: a job made in virtual time, gone on with in real time at a practice unit.

The screens need real time (Textual's timers do not fire in a loop that jumps); strokes do not. So the job is made once,
with its strokes, and each test goes on with its own copy at a unit of its own.
"""

import asyncio
import contextlib
import functools
import tempfile
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from textual.pilot import Pilot
from textual.screen import Screen

from commission.checklist import load_checklist
from commission.content import Text, checklists_folder, read_text
from commission.job import bodies
from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.terminal.desk import Desk, PracticeUnit
from commission.terminal.widgets.page import Page
from commission.visit import Visit
from commission.walk import acts
from tests.supervise.rig import Served, demo_sheet, hold_time_while, served
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import CHECKLIST, MARA, OLLIE, TESS, Nobody, There

HOSTILE = "[bold]x[/] [/ \u202eesrever\u202c \x1b[31mred\x07 \u05d0\u05d1"
"""What somebody may type or a file may hold: markup, a broken end of it, right to left, control characters."""

COLOUR = Console(colour=True, drawing=True)
GREY = Console(colour=False, drawing=True)
LETTERS = Console(colour=False, drawing=False)


class Shown:
    """An open app with a visit in it."""

    def __init__(self, app: CommissionApp, pilot: Pilot[int], visit: Visit, unit: Served) -> None:
        self.app = app
        self.pilot = pilot
        self.visit = visit
        self.unit = unit

    async def show(self, screen: Screen[Any]) -> str:
        """Show a screen; its text."""
        await self.app.push_screen(screen)
        return await self.text()

    async def press(self, *keys: str) -> str:
        """Press keys; the text then."""
        await self.pilot.press(*keys)
        await self.pilot.pause(0.05)
        return await self.text()

    async def type_line(self, text: str) -> str:
        """Type a line, as pasted into the field, and Enter; the text then."""
        field: Any = self.app.screen.query_one("#given")
        field.value = text
        return await self.press("enter")

    async def text(self) -> str:
        """What the screen shows, line by line."""
        await self.pilot.pause()
        return "\n".join(frame(self.app))

    async def until(self, words: str) -> str:
        """Wait until the screen shows these words."""
        text = ""
        for _ in range(300):
            text = await self.text()
            if words in text:
                return text
            await asyncio.sleep(0.02)
        raise AssertionError(f"{words!r} never came:\n{text}")

    async def scrolled(self) -> str:
        """The whole page, not only what fits."""
        page = self.app.screen.query(Page).last()
        lines: list[str] = []
        while True:
            lines += [line for line in (await self.text()).splitlines() if line not in lines]
            if page.scroll_offset.y >= page.max_scroll_y:
                return "\n".join(lines)
            page.scroll_page_down(animate=False)


def flat(text: str) -> str:
    """The text as if it had not been wrapped."""
    return " ".join(text.split())


def frame(app: CommissionApp) -> list[str]:
    """The lines on the screen, as plain text."""
    return ["".join(segment.text for segment in strip).rstrip() for strip in app.screen._compositor.render_strips()]


@contextlib.asynccontextmanager
async def opened(
    folder: Path, *, size: tuple[int, int] = (80, 24), shows: Console = COLOUR, connected: bool = True
) -> AsyncIterator[Shown]:
    """The app, its visit gone on with at a unit; closed again at the end."""
    path = folder / "XV-1101.job"
    with ThreadPoolExecutor(1) as apart:  # a loop of its own, which no other loop may run beside
        path.write_bytes(apart.submit(_made).result())
    async with served(demo_sheet(), real_time=True) as unit:
        desk = Desk(folder, _no_practice, _no_stroke)
        visit = desk.resume(path, Nobody())
        app = CommissionApp(desk, shows)
        app.who = TESS
        try:
            if connected:
                await visit.connect(unit.address.text, other_master="none", agreed_by=MARA, by=TESS)
                visit.keep_reading()
            async with app.run_test(size=size) as pilot:
                yield Shown(app, pilot, visit, unit)
        finally:
            await desk.close("the test is over")


@functools.cache
def _made() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        return run_virtual(_make(Path(folder)))


async def _make(folder: Path) -> bytes:
    sheet = read_text(checklists_folder() / "units" / "xv-1101.toml")
    async with served(demo_sheet()) as unit:
        path = folder / "XV-1101.job"
        visit = Visit.begin(path, sheet, (Text("strokes.toml", _checklist()),), virtual_clock(), Nobody(), TESS)
        hold_time_while(lambda: visit._book.recorder.busy)
        there = There(visit, unit)
        try:
            await there.connect()
            await there.go_live()
            there.opened_at_the_panel()
            await there.stroke("closed")
            _remember(visit)
        finally:
            await visit.close("the first day is over")
        return path.read_bytes()


def _remember(visit: Visit) -> None:
    """Something temporary that is on, something that is off again, a deviation, a signature."""
    for kind, what, where, why in (
        ("jumper", "wire", "TB-3 4 to 5", "to hold the ESD loop"),
        ("bypass", "low pressure inhibit", "control room", "for the monitor"),
    ):
        visit.record(acts.temporary_on(visit.job, kind, what, where, why), TESS)
    visit.record(acts.temporary_off(visit.job, "T2", OLLIE, "alarm returned at 15:41", TESS), TESS)
    body = acts.raise_deviation(visit.job, "K1-open", "drawing revision D", "drawing revision C on site", classed="A")
    visit.record(body, TESS)
    visit.record(bodies.Signed(role="technician", statement="I did what is recorded", how="typed name"), TESS)


def _checklist() -> str:
    """The strokes of one unit, with every kind of temporary thing of the checklist that comes with the program."""
    kinds, _ = load_checklist(checklists_folder() / "commissioning.toml")
    tables = [f'{{ id = "{kind.id}", name = "{kind.name}" }}' for kind in kinds.temporary.values()]
    return CHECKLIST.replace("phases =", f"temporary = [{', '.join(tables)}]\nphases =", 1)


def _no_practice(_sheet: Path, _speed: float, _start: str) -> PracticeUnit:
    raise AssertionError("no practice unit is started here")


async def _no_stroke(_desk: Desk, _people: object) -> tuple[Visit, str]:
    raise AssertionError("no stroke is prepared here")

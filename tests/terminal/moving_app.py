"""
The app over a real visit to a real practice unit, in one loop and in real time; and a stroke that it can stop.

    async with app_at(tmp_path) as there:
        async with there.stroke():
            await there.pilot.press("space")

What a key did is asked of the unit itself (its frames, its true state), never of the program.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

from textual.app import ComposeResult
from textual.pilot import Pilot
from textual.screen import ModalScreen
from textual.widgets import Input

from commission.clock import Clock
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.requests import Answer, Ask
from commission.supervise.order import Ended
from commission.supervise.surroundings import People
from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.terminal.desk import Desk, PracticeUnit
from commission.visit import Visit
from tests.supervise.rig import Frame
from tests.visiting import CHECKLIST, TESS, There, visiting

SPEED = 20.0
"""An opening stroke of XV-1101 takes some seconds of a test's own time."""

PATIENCE_S = 20.0
_CLOCK = Clock()


def now_s() -> float:
    """Seconds of wire time."""
    return _CLOCK.wire_ns() / 1e9


def no_practice(_sheet: Path, _speed: float, _start: str) -> PracticeUnit:
    """The test has a unit already."""
    raise AssertionError("no practice unit is to be started here")


async def nothing_prepared(_desk: Desk, _people: People) -> tuple[Visit, str]:
    """The test has a visit already."""
    raise AssertionError("nothing is to be prepared here")


def desk_at(folder: Path) -> Desk:
    """A desk that starts nothing by itself."""
    return Desk(folder, no_practice, nothing_prepared)


class FieldOnTop(ModalScreen[None]):
    """A dialog with a field, as any screen might push one."""

    def compose(self) -> ComposeResult:
        """One field, which has the focus."""
        yield Input(id="typed")


class AtTheKeys:
    """Whoever is at the app's keys answers what a procedure asks."""

    def __init__(self) -> None:
        self.app: CommissionApp | None = None

    async def ask(self, question: Ask) -> Answer:
        """The answer by keys."""
        assert self.app is not None
        return await self.app.speaker.ask(question)


class AppThere:
    """The app, the visit, and the unit they are at."""

    def __init__(self, app: CommissionApp, pilot: Pilot[int], there: There) -> None:
        self.app = app
        self.pilot = pilot
        self.there = there

    def stops(self) -> list[Frame]:
        """The STOP frames that reached the unit."""
        visit = self.there.visit
        point = visit.job.sheet.point("command_stop")
        assert point is not None
        address = visit.job.sheet.wire_address(point)
        return [frame for frame in self.there.unit.server.frames if frame.is_write and frame.address == address]

    def truth(self) -> dict[str, Any]:
        """The true state of the unit."""
        return dict(self.there.unit.desk.read("truth"))

    async def until(self, reached: Callable[[], object], what: str, patience_s: float = PATIENCE_S) -> None:
        """Wait until it is so."""
        until_s = now_s() + patience_s
        while not reached():
            assert now_s() < until_s, f"waited in vain for {what}; {self.shown()}"
            await asyncio.sleep(0.005)

    def shown(self) -> str:
        """The screen as text."""
        return "\n".join(
            "".join(segment.text for segment in strip) for strip in self.app.screen._compositor.render_strips()
        )

    @contextlib.asynccontextmanager
    async def stroke(self, least_pct: float = 3.0) -> AsyncIterator["asyncio.Task[Ended[Any]]"]:
        """An opening stroke, confirmed and begun, shown as the walk shows it; its result is read at the end."""
        loop = asyncio.get_running_loop()
        running = loop.create_task(self.there.run("K1-open"))
        showing = loop.create_task(self.app.speaker.moving(self.there.visit, running))
        try:
            await self.until(lambda: self.truth()["travel_pct"] > least_pct, "the valve to move")
            await self.until(lambda: type(self.app.screen).__name__ == "MotionScreen", "the running test")
            yield running
        finally:
            self.there.visit.stop("the test", "over")
            await asyncio.wait({running})
            while not showing.done():
                if type(self.app.screen).__name__ == "ResultScreen":
                    await self.pilot.press("enter")
                await asyncio.sleep(0.02)
            await showing

    async def ended(self, running: "asyncio.Task[Ended[Any]]") -> Ended[Any]:
        """How the stroke ended."""
        await asyncio.wait({running}, timeout=PATIENCE_S)
        return running.result()


@contextlib.asynccontextmanager
async def app_at(
    folder: Path,
    app_class: type[CommissionApp] = CommissionApp,
    *,
    size: tuple[int, int] = (80, 24),
    shows: Console | None = None,
    live: bool = True,
    speed: float = SPEED,
    steps: str = CHECKLIST,
    condition: Condition = HEALTHY,
) -> AsyncIterator[AppThere]:
    """The app on an open visit: connected, live, commands proved."""
    keys = AtTheKeys()
    async with visiting(
        folder, start="closed", speed=speed, real_time=True, condition=condition, steps=steps, people=keys
    ) as there:
        if live:
            await there.go_live()
        there.unit.server.frames.clear()  # the commands were pulsed, STOP among them
        desk = desk_at(folder)
        desk.visit = there.visit
        app = app_class(desk, shows or Console(colour=True, drawing=True))
        app.who = TESS
        keys.app = app
        async with app.run_test(size=size) as pilot:
            await app.push_screen(app.walk)
            yield AppThere(app, pilot, there)

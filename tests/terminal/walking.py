"""The app on a folder of its own, in real time, from its first screen on; the text of what it shows."""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from pathlib import Path

from textual.pilot import Pilot

from commission.clock import Clock
from commission.content import checklists_folder
from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.visit import Visit
from tests.terminal.moving_app import desk_at

SHEET = checklists_folder() / "units" / "xv-1101.toml"
WHO = "T. Placeholder"
PATIENCE_S = 15.0


class Walking:
    """The app and its keys."""

    def __init__(self, app: CommissionApp, pilot: Pilot[int]) -> None:
        self.app = app
        self.pilot = pilot

    @property
    def visit(self) -> Visit:
        """The open visit."""
        assert self.app.desk.visit is not None
        return self.app.desk.visit

    @property
    def text(self) -> str:
        """The screen as text."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip) for strip in strips)

    async def press(self, *keys: str) -> str:
        """Press keys; the screen then."""
        await self.pilot.press(*keys)
        await self.pilot.pause(0.05)
        return self.text

    async def type(self, text: str) -> str:
        """Type a line."""
        named = {" ": "space", ",": "comma", ".": "full_stop", "-": "minus", ";": "semicolon", ":": "colon"}
        return await self.press(*(named.get(letter, letter) for letter in text), "enter")

    async def until(self, reached: Callable[[], object]) -> None:
        """Wait until it is so."""
        clock = Clock()
        until_ns = clock.wire_ns() + round(PATIENCE_S * 1e9)
        while not reached():
            assert clock.wire_ns() < until_ns, self.text
            await asyncio.sleep(0.01)

    async def sees(self, words: str) -> None:
        """Wait until these words are shown, lines taken together."""
        await self.until(lambda: words in " ".join(self.text.replace("│", " ").split()) or words in self.text)

    async def start(self, *, checked: bool = True, sheet: Path = SHEET) -> None:
        """A new job on a packed sheet, its stop key seen, in the walk."""
        visit = self.app.desk.begin(sheet, self.app.speaker, WHO)
        self.app.become(visit, f"{WHO}, technician")
        self.app.enter_visit(visit)
        await self.sees("press the stop key")
        if checked:
            await self.press("space")
            await self.sees("SPACE seen")


@contextlib.asynccontextmanager
async def walking(folder: Path, size: tuple[int, int] = (80, 24), *, colour: bool = True) -> AsyncIterator[Walking]:
    """The app, nothing open; the visit is closed at the end."""
    desk = desk_at(folder)
    app = CommissionApp(desk, Console(colour=colour, drawing=True))
    try:
        async with app.run_test(size=size) as pilot:
            try:
                yield Walking(app, pilot)
            finally:
                await app._end_conversation()
    finally:
        await desk.close("the test is over")

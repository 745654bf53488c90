"""
Somebody at a keyboard, in virtual time: typed lines that come through the real reading thread, and what is shown.

    async with talking(tmp_path, capsys) as talk:
        await talk.there.go_live()
        walking = talk.walk()
        await talk.expect("Ready?")
        talk.type("")
"""

import asyncio
import contextlib
import io
import queue
from collections.abc import AsyncIterator, Coroutine
from pathlib import Path
from typing import Any

import pytest

from commission.cli.typed_lines import TypedLines
from commission.cli.typist import Typist
from commission.content import Text
from commission.face.dialogue import Left, walk
from commission.sheet import End
from commission.visit import Visit
from tests.supervise.rig import demo_sheet, hold_time_while, served
from tests.virtual_time import virtual_clock
from tests.visiting import PEOPLE, TESS, There, texts

CONFIRM = f"{PEOPLE} 1101 Mara Mockford"


class Keyboard(io.StringIO):
    """A stream that waits for what is typed next, as a terminal does."""

    def __init__(self) -> None:
        super().__init__()
        self._typed: queue.Queue[str | None] = queue.Queue()

    def type(self, line: str | None) -> None:
        """Type a line; None closes the terminal."""
        self._typed.put(line)

    def __next__(self) -> str:  # type: ignore[override]  # typeshed has bytes above text streams
        """The next line, with its end."""
        line = self._typed.get()
        if line is None:
            raise StopIteration
        return f"{line}\n"


class CountedLines(TypedLines):
    """Typed lines that know how many are still on their way from the thread."""

    def __init__(self, keyboard: Keyboard) -> None:
        self.on_the_way = 0
        super().__init__(keyboard)

    def _arrive(self, line: str | None) -> None:
        self.on_the_way -= 1
        super()._arrive(line)


class Talk:
    """A visit with somebody at the keyboard."""

    def __init__(self, there: There, typist: Typist, capsys: pytest.CaptureFixture[str]) -> None:
        self.there = there
        self.visit = there.visit
        self.typist = typist
        self.shown = ""
        self.all_shown = ""
        self._capsys = capsys
        self._keyboard = Keyboard()
        self.lines = CountedLines(self._keyboard)
        typist._lines = self.lines
        hold_time_while(lambda: self.lines.on_the_way > 0)
        self._faces: list[asyncio.Task[Any]] = []

    def type(self, *lines: str | None) -> None:
        """Type lines, all at once; None closes the terminal."""
        for line in lines:
            self.lines.on_the_way += 1
            self._keyboard.type(line)

    async def expect(self, words: str, limit_s: float = 400.0) -> str:
        """What was shown up to and with these words, since the last look."""
        loop = asyncio.get_running_loop()
        until_s = loop.time() + limit_s
        while words not in self.shown:
            assert loop.time() < until_s, f"waited in vain for {words!r}; shown: {self.shown[-1500:]}"
            for face in self._faces:
                assert not face.done() or face.exception() is None or isinstance(face.exception(), Left), face
            await asyncio.sleep(0.02)
            self._look()
        before, _, self.shown = self.shown.partition(words)
        return before + words

    async def quiet(self, seconds: float = 1.0) -> str:
        """What is shown in a while."""
        await asyncio.sleep(seconds)
        self._look()
        shown, self.shown = self.shown, ""
        return shown

    def face(self, talking: Coroutine[Any, Any, Any]) -> "asyncio.Task[Any]":
        """Let a conversation go on beside the test."""
        task = asyncio.get_running_loop().create_task(talking)
        self._faces.append(task)
        return task

    def walk(self, direction: End | None = None) -> "asyncio.Task[Any]":
        """Walk, with somebody whose name is known."""
        self.typist._by = TESS
        return self.face(walk(self.visit, self.typist, direction))

    async def converse(self, *script: tuple[str, str]) -> None:
        """Answer what is asked, in order."""
        for words, reply in script:
            await self.expect(words)
            self.type(reply)

    async def go_live(self) -> None:
        """Into live, commands proved."""
        await self.there.go_live()
        self.there.conclude("I2")

    async def close(self) -> None:
        """Nothing of it is left."""
        self.type(None)
        for face in self._faces:
            face.cancel()
        await asyncio.gather(*self._faces, return_exceptions=True)
        await self.visit.close("the test is over")

    def _look(self) -> None:
        new = self._capsys.readouterr().err
        self.shown += new
        self.all_shown += new


@contextlib.asynccontextmanager
async def talking(
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    *,
    connected: bool = True,
    checklist: tuple[Text, ...] = (),
    start: str = "closed",
    speed: float = 1.0,
) -> AsyncIterator[Talk]:
    """A visit to a practice unit with somebody at the keyboard."""
    async with served(demo_sheet(), start=start, speed=speed) as unit:
        typist = Typist(TypedLines(io.StringIO()), unit.address.text)
        sheet, strokes = texts()
        visit = Visit.begin(folder / "XV-1101.job", sheet, checklist or strokes, virtual_clock(), typist, TESS)
        hold_time_while(lambda: visit._book.recorder.busy)
        talk = Talk(There(visit, unit), typist, capsys)
        try:
            if connected:
                await talk.there.connect()
            yield talk
        finally:
            await talk.close()

"""Lines typed while the event loop goes on."""

import asyncio
import io
import os

import pytest

from commission.cli.typed_lines import TypedLines
from tests.cli.talking import CountedLines, Keyboard
from tests.supervise.rig import hold_time_while
from tests.virtual_time import run_virtual


def test_lines_come_in_order_without_their_ends() -> None:
    """Each typed line once; carriage returns of a terminal are no part of it."""

    async def main() -> None:
        lines = TypedLines(io.StringIO("first\r\n\nthird\n"))
        assert [await lines.next() for _ in range(3)] == ["first", "", "third"]

    asyncio.run(main())


def test_a_terminal_that_is_gone_stays_gone() -> None:
    """Whoever asks after the end is told so every time, and never waits."""

    async def main() -> None:
        lines = TypedLines(io.StringIO(""))
        assert [await asyncio.wait_for(lines.next(), 5) for _ in range(3)] == [None, None, None]
        lines.forget_waiting()
        assert await asyncio.wait_for(lines.next(), 5) is None

    asyncio.run(main())


def test_r13_forgetting_keeps_requests_and_the_end() -> None:
    """What was typed ahead is dropped, except what confirms nothing."""

    async def main() -> None:
        keyboard = Keyboard()
        lines = CountedLines(keyboard)
        hold_time_while(lambda: lines.on_the_way > 0)
        for line in ("4 1101 Mara", "/leave", "g", None):
            lines.on_the_way += 1
            keyboard.type(line)
        await asyncio.sleep(0.1)
        waiting = [lines.any_waiting]
        lines.forget_waiting()
        assert await lines.next() == "/leave"
        waiting.append(lines.any_waiting)
        assert waiting == [True, False]
        assert await lines.next() is None

    run_virtual(main())


def test_bytes_that_are_no_text_spoil_their_line_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """A stray byte on standard input does not end the visit."""
    reading, writing = os.pipe()
    os.write(writing, b"caf\xe9\nnext\n")
    os.close(writing)

    async def main() -> None:
        lines = TypedLines()
        assert [await lines.next() for _ in range(3)] == ["caf\ufffd", "next", None]

    with os.fdopen(reading, encoding="utf-8") as stream:
        monkeypatch.setattr("sys.stdin", stream)
        asyncio.run(main())

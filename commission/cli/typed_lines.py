"""Lines that somebody types, while the event loop goes on: a daemon thread reads, so ending waits for nobody."""

import asyncio
import sys
import threading
from typing import TextIO


class TypedLines:
    """
    The lines of a stream.

    Args:
        stream: Where they are typed; standard input if None.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stdin
        self._loop = asyncio.get_running_loop()
        self._lines: asyncio.Queue[str | None] = asyncio.Queue()
        threading.Thread(target=self._read, name="typed lines", daemon=True).start()

    async def next(self) -> str | None:
        """The next line without its end; None when the terminal is gone."""
        return await self._lines.get()

    def forget_waiting(self) -> None:
        """Drop what was typed ahead, so that it cannot answer a question nobody has seen yet (safety rule R13)."""
        while not self._lines.empty():
            if self._lines.get_nowait() is None:
                self._lines.put_nowait(None)
                return

    def _read(self) -> None:
        try:
            for line in self._stream:
                self._put(line.rstrip("\r\n"))
        except (OSError, ValueError):
            pass  # a closed terminal reads as an error on some systems and as an end on others
        self._put(None)

    def _put(self, line: str | None) -> None:
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._lines.put_nowait, line)

"""Lines that somebody types, while the event loop goes on: a daemon thread reads, so ending waits for nobody."""

import asyncio
import contextlib
import io
import sys
import threading
from collections import deque
from typing import TextIO

REQUEST = "/"
"""What a line begins with that asks for something rather than answering."""


class TypedLines:
    """
    The lines of a stream.

    Args:
        stream: Where they are typed; standard input if None.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = sys.stdin if stream is None else stream
        if stream is None and isinstance(sys.stdin, io.TextIOWrapper):
            sys.stdin.reconfigure(errors="replace")  # a byte that is no letter spoils its line, not the visit
        self._loop = asyncio.get_running_loop()
        self._waiting: deque[str | None] = deque()
        self._arrived = asyncio.Event()
        threading.Thread(target=self._read, name="typed lines", daemon=True).start()

    async def next(self) -> str | None:
        """The next line without its end; None, from then on always, when the terminal is gone."""
        while not self._waiting:
            self._arrived.clear()
            await self._arrived.wait()
        return None if self._waiting[0] is None else self._waiting.popleft()

    @property
    def any_waiting(self) -> bool:
        """Whether another line was typed already."""
        return any(line is not None for line in self._waiting)

    def forget_waiting(self) -> None:
        """
        Drop what was typed ahead, so that it cannot answer a question nobody has seen yet (safety rule R13).

        A request stays: it confirms nothing.
        """
        self._waiting = deque(line for line in self._waiting if line is None or line.startswith(REQUEST))

    def _read(self) -> None:
        try:
            for line in self._stream:
                self._put(line.rstrip("\r\n"))
        except (OSError, ValueError):
            pass  # a closed terminal reads as an error on some systems and as an end on others
        self._put(None)

    def _put(self, line: str | None) -> None:
        with contextlib.suppress(RuntimeError):  # the visit is over and its loop closed: nobody waits for this line
            self._loop.call_soon_threadsafe(self._arrive, line)

    def _arrive(self, line: str | None) -> None:
        self._waiting.append(line)
        self._arrived.set()

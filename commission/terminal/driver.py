"""
What the terminal does must never keep the stop key from the valve, nor the program from its end.

The library's writer thread takes a few frames and then makes the event loop wait for it: where a terminal holds its
output, or is gone and the thread has died, the loop stands still, and with it polling, guards, signals and safe end.
Here frames queue up without end instead, and are dropped once nobody writes them any more.

A terminal that is gone reads as nothing, at full speed, for ever. The system tells of it only where the terminal is the
session's own; here it is watched for, and a terminal that is gone is told in the system's way, as a hang-up.
"""

import os
import select
import signal
import sys
from queue import Queue
from threading import Event, Thread
from typing import Any

from textual.driver import Driver

LOOKS_EVERY_S = 0.5
"""How long a look for a terminal that is gone may last, in wire time: so long may the program's own end wait for it."""


class NeverWaits:
    """Put before a driver class of the library: its `write` never waits, and a terminal that is gone is noticed."""

    _writer_thread: Any

    def start_application_mode(self) -> None:
        """As the library's, with room for any number of frames."""
        super().start_application_mode()  # type: ignore[misc]  # the driver class that this is put before
        queue = getattr(self._writer_thread, "_queue", None)
        if isinstance(queue, Queue):
            queue.maxsize = 0
        terminal, ends = getattr(self, "fileno", None), getattr(self, "exit_event", None)
        if isinstance(terminal, int) and isinstance(ends, Event) and sys.platform != "win32":
            Thread(target=_watch, args=(terminal, ends), name="terminal gone?", daemon=True).start()

    def write(self, data: str) -> None:
        """Hand a frame to the writer thread, if there is still one."""
        if isinstance(self._writer_thread, Thread) and not self._writer_thread.is_alive():
            return
        super().write(data)  # type: ignore[misc]  # the driver class that this is put before


def never_waiting(driver: type[Driver]) -> type[Driver]:
    """The driver class whose writes never wait; one without a writer thread stays as it is."""
    return type(f"Never{driver.__name__}", (NeverWaits, driver), {"_writer_thread": None})


def _watch(terminal: int, ends: Event) -> None:
    """Wait until the program ends or the terminal is gone; then end the reading of nothing, and say hang-up."""
    looking = select.poll()
    looking.register(terminal, 0)  # no input is waited for: a hang-up is reported whatever is asked
    while not ends.is_set():
        for _, found in looking.poll(LOOKS_EVERY_S * 1000):
            if found & select.POLLHUP and not ends.is_set():
                os.kill(os.getpid(), signal.SIGHUP)
            ends.set()

"""
Writing to the terminal must never keep the stop key from the valve.

The library's writer thread takes a few frames and then makes the event loop wait for it: where a terminal holds its
output, or is gone and the thread has died, the loop stands still, and with it polling, guards, signals and safe end.
Here frames queue up without end instead, and are dropped once nobody writes them any more.
"""

from queue import Queue
from threading import Thread
from typing import Any

from textual.driver import Driver


class NeverWaits:
    """Put before a driver class of the library: its `write` never waits."""

    _writer_thread: Any

    def start_application_mode(self) -> None:
        """As the library's, with room for any number of frames."""
        super().start_application_mode()  # type: ignore[misc]  # the driver class that this is put before
        queue = getattr(self._writer_thread, "_queue", None)
        if isinstance(queue, Queue):
            queue.maxsize = 0

    def write(self, data: str) -> None:
        """Hand a frame to the writer thread, if there is still one."""
        if isinstance(self._writer_thread, Thread) and not self._writer_thread.is_alive():
            return
        super().write(data)  # type: ignore[misc]  # the driver class that this is put before


def never_waiting(driver: type[Driver]) -> type[Driver]:
    """The driver class whose writes never wait; one without a writer thread stays as it is."""
    return type(f"Never{driver.__name__}", (NeverWaits, driver), {"_writer_thread": None})

"""
Words for people, written by a thread of their own while a visit is held.

A terminal may hold its output: Ctrl-S, text selected in a console window, a stalled network. Whoever writes to it waits
for as long as that lasts, and that must never be whoever watches a moving valve and hears the stop key.
"""

import contextlib
import io
import os
import queue
import sys
import threading
from collections.abc import Iterator

from commission.cli import output

_LAST_WORDS_S = 1.0
"""How long the end of a visit waits for what is still to be shown."""


@contextlib.contextmanager
def written_aside() -> Iterator[None]:
    """What is said inside never makes the speaker wait; at the end what is left is shown, if it can be, within 1 s."""
    waiting: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    writer = threading.Thread(target=_write_all, args=(waiting,), name="words for people", daemon=True)
    writer.start()
    before = output.speak_by(waiting.put)
    try:
        yield
    finally:
        output.speak_by(before)
        waiting.put(None)
        writer.join(_LAST_WORDS_S)


def _write_all(waiting: "queue.SimpleQueue[str | None]") -> None:
    while (text := waiting.get()) is not None:
        write(text)


def write(text: str) -> None:
    """
    Write to standard error past its buffer, whose lock a thread that waits here would keep from the program's end.

    A terminal that is gone is no reason to fail.
    """
    raw = getattr(getattr(sys.stderr, "buffer", None), "raw", None)
    with contextlib.suppress(OSError, ValueError):
        if not isinstance(raw, io.RawIOBase):
            sys.stderr.write(text)
            sys.stderr.flush()
            return
        left = text.replace("\n", os.linesep).encode(sys.stderr.encoding, "backslashreplace")
        while left:
            left = left[raw.write(left) or 0 :]

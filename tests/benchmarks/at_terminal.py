"""
`commission` at a terminal of its own, read byte by byte by the clock: when was it shown?

    with at_terminal("practice", "--out", folder) as there:
        painted_s = there.until("Jobs on this laptop")
        waited_s = there.key_to_paint("x", "X does nothing")
"""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager

from commission.clock import NS_PER_S, Clock

PATIENCE_S = 60.0
_CLOCK = Clock()


def now_s() -> float:
    """Seconds of wire time."""
    return _CLOCK.wire_ns() / NS_PER_S


class AtTerminal:
    """
    A program at a pseudo-terminal of 80 x 24.

    Args:
        command: The program and its arguments.
    """

    def __init__(self, *command: str) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        settings = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LC_ALL": "C.UTF-8"}
        self.began_s = now_s()
        self.process = subprocess.Popen(
            [sys.executable, *command],
            stdin=slave, stdout=slave, stderr=slave, env={**os.environ, **settings}, start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        self.seen = b""

    def until(self, words: str, patience_s: float = PATIENCE_S) -> float:
        """Read on until it is shown; when that was."""
        wanted, until_s = words.encode(), now_s() + patience_s
        while wanted not in self.seen:
            assert now_s() < until_s, f"waited in vain for {words!r}: {self.seen[-2000:]!r}"
            assert self.process.poll() is None or self._readable(0), f"it has ended: {self.seen[-2000:]!r}"
            self.read_for(0.5, wanted)
        return self.read_s

    def read_for(self, seconds: float, until: bytes = b"") -> None:
        """Read what comes for so long, or until these bytes have come."""
        until_s = now_s() + seconds
        while (left_s := until_s - now_s()) > 0 and not (until and until in self.seen):
            if self._readable(left_s):
                try:
                    self.seen += os.read(self._master, 65536)
                except OSError:  # the other end is closed
                    return
                self.read_s = now_s()

    def type(self, text: str, gap_s: float = 0.0) -> None:
        """Press keys, so far apart."""
        for letter in text:
            os.write(self._master, letter.encode())
            if gap_s:
                self.read_for(gap_s)

    def key_to_paint(self, key: str, words: str, patience_s: float = 2.0) -> float | None:
        """Seconds from a key until its effect is painted; None where it never was."""
        self.seen = b""
        pressed_s = now_s()
        os.write(self._master, key.encode())
        self.read_for(patience_s, words.encode())
        return self.read_s - pressed_s if words.encode() in self.seen else None

    def end(self) -> None:
        """End it by its own key, pressed until it has ended: in a motion the first one only stops; then by force."""
        until_s = now_s() + 10.0
        while self.process.poll() is None and now_s() < until_s:
            self.type("\x11")
            self.read_for(0.5)
        self.process.kill()
        self.process.wait()
        os.close(self._master)

    def _readable(self, seconds: float) -> bool:
        return bool(select.select([self._master], [], [], seconds)[0])


@contextmanager
def at_terminal(*arguments: str) -> Iterator[AtTerminal]:
    """`commission` with these arguments; ended at the end."""
    there = AtTerminal("-m", "commission", *arguments)
    try:
        yield there
    finally:
        there.end()

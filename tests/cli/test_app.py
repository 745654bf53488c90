"""The app as a process at a real terminal: a crash, a signal and a quit leave it clean and say what is saved."""

import asyncio
import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from commission.cli.app import _start_practice
from commission.cli.wishes import PracticeWishes
from commission.clock import Clock
from commission.content import checklists_folder
from commission.face.metered import opened_meter

PATIENCE_S = 30.0
ALTERNATE_ON, ALTERNATE_OFF = "\x1b[?1049h", "\x1b[?1049l"
MOUSE_ON, CURSOR_ON = "\x1b[?1000h", "\x1b[?25h"

FAILING = """
import sys
from commission.terminal.screens.help import HelpScreen
def body(self):
    secret_local = "nobody may read this"
    raise TypeError("planted for the test")
HelpScreen.body = body
from commission.cli import main
sys.exit(main(sys.argv[1:]))
"""

pytestmark = pytest.mark.slow


class AtTerminal:
    """The app at a terminal of its own."""

    def __init__(self, folder: Path, program: str = "", **environment: str) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        code = ["-c", program] if program else ["-m", "commission"]
        self.process = subprocess.Popen(
            [sys.executable, *code, "--folder", str(folder)],
            stdin=slave, stdout=slave, stderr=slave, env={**os.environ, "TERM": "xterm-256color", **environment},
            start_new_session=True,
        )  # fmt: skip
        os.close(slave)
        self.seen = ""
        self._until_s = Clock().wire_ns() / 1e9 + PATIENCE_S

    def until(self, words: str) -> None:
        """Read until it was shown."""
        while words not in self.seen:
            assert Clock().wire_ns() / 1e9 < self._until_s, f"waited in vain for {words!r}: {self.seen[-1500:]!r}"
            self._read()

    def key(self, text: str) -> None:
        """Press keys."""
        os.write(self._master, text.encode())

    def ended(self) -> int:
        """Its exit status, everything that it said being read."""
        while self.process.poll() is None:
            assert Clock().wire_ns() / 1e9 < self._until_s, f"it does not end: {self.seen[-1500:]!r}"
            self._read()
        self._read()
        return int(self.process.returncode)

    def close(self) -> None:
        """Nothing of it is left."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        os.close(self._master)

    @property
    def after(self) -> str:
        """What was written after the alternate screen was left."""
        return self.seen.rpartition(ALTERNATE_OFF)[2]

    def _read(self) -> None:
        if select.select([self._master], [], [], 0.05)[0]:
            try:
                self.seen += os.read(self._master, 65536).decode(errors="replace")
            except OSError:  # the other end is closed
                return


def check_clean(there: AtTerminal) -> None:
    """Alternate screen left, cursor shown, mouse never on."""
    assert ALTERNATE_ON in there.seen
    assert there.seen.rindex(ALTERNATE_OFF) > there.seen.rindex(ALTERNATE_ON)
    assert CURSOR_ON in there.seen[there.seen.rindex(ALTERNATE_ON) :]
    assert MOUSE_ON not in there.seen


def test_a_failing_screen_ends_in_one_sentence(tmp_path: Path) -> None:
    """No traceback, no locals; what failed, what is saved and where the log is; a status that is not 0."""
    there = AtTerminal(tmp_path, FAILING)
    try:
        there.until("Jobs on this laptop")
        there.key("?")
        assert there.ended() == 2
        check_clean(there)
        assert "Traceback" not in there.seen
        assert "nobody may read this" not in there.seen
        assert "planted for the test" in there.after
        assert "What was recorded is safe" in there.after
        assert "commission.log" in there.after
    finally:
        there.close()


def test_a_signal_ends_it_clean(tmp_path: Path) -> None:
    """SIGTERM: the terminal is as it was, and a sentence says where everything is."""
    there = AtTerminal(tmp_path)
    try:
        there.until("Jobs on this laptop")
        there.process.send_signal(signal.SIGTERM)
        assert there.ended() == 1
        check_clean(there)
        assert "ended by the system" in there.after
        assert "Traceback" not in there.seen
    finally:
        there.close()


def test_quitting_ends_it_clean(tmp_path: Path) -> None:
    """Ctrl-Q without a motion: status 0 and a clean terminal."""
    there = AtTerminal(tmp_path)
    try:
        there.until("Jobs on this laptop")
        there.key("\x11")
        assert there.ended() == 0
        check_clean(there)
    finally:
        there.close()


def test_the_practice_unit_that_the_app_starts_has_a_meter_on_its_bench() -> None:
    """A serial device that answers as the clamp: at a closed valve the loop carries 4 mA."""
    unit = _start_practice(PracticeWishes(), checklists_folder() / "units" / "xv-1101.toml", 5.0, "closed")

    async def read() -> float:
        meter = await opened_meter(f"M-03={unit.meters['M-03']}", Clock())
        try:
            assert meter.is_practice
            return (await meter.read()).value
        finally:
            meter.close()

    try:
        assert asyncio.run(read()) == pytest.approx(4e-3, abs=5e-5)
    finally:
        unit.end()

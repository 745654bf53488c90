"""`commission` as a process: over pipes, or at a terminal of its own that can be typed at and closed."""

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
from collections.abc import Sequence
from pathlib import Path

from tests.journeys.site import PATIENCE_S, now_s, wait_for

COMMAND = (sys.executable, "-m", "commission")


def finished(
    *arguments: object, cwd: Path, home: Path | None = None, patience_s: float = PATIENCE_S
) -> "subprocess.CompletedProcess[str]":
    """A command run to its end; `home` is its home folder where a test has given none yet."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        cwd=cwd,
        env=None if home is None else {**os.environ, "HOME": str(home)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=patience_s,
        check=False,
    )


class Program:
    """
    A command that runs.

    Args:
        process: The process.

        words: Where what it says is kept; None where it is shown.
    """

    def __init__(self, process: "subprocess.Popen[bytes]", words: Path | None = None) -> None:
        self.process = process
        self.words = words

    @classmethod
    def start(cls, *arguments: object, cwd: Path) -> "Program":
        """Start one with nothing at its standard input yet, and its words in a file."""
        words = cwd / f"said{len(list(cwd.glob('said*')))}.txt"
        command = [*COMMAND, *map(str, arguments)]
        with words.open("wb") as said:
            process = subprocess.Popen(
                command, cwd=cwd, stdin=subprocess.PIPE, stdout=said, stderr=said, start_new_session=True
            )
        return cls(process, words)

    def said(self) -> str:
        """What it has said so far."""
        return self.words.read_text(encoding="utf-8", errors="replace") if self.words is not None else ""

    def wait_for_words(self, words: str) -> None:
        """Wait until it has said this."""
        wait_for(lambda: words in self.said(), f"{words!r} to be said")

    def send(self, number: signal.Signals) -> float:
        """Send it a signal; when."""
        os.kill(self.process.pid, number)
        return now_s()

    def ended_within(self, since_s: float, longest_s: float) -> float:
        """Seconds until the process had ended; the test fails where that took longer."""
        self.process.wait(PATIENCE_S)
        took_s = now_s() - since_s
        assert took_s <= longest_s, f"ended after {took_s:.2f} s, {longest_s:g} s allowed"
        return took_s

    def close(self) -> None:
        """Nothing of it is left."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGCONT)
            self.process.kill()
            self.process.wait()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            if stream is not None:
                stream.close()


class Terminal(Program):
    """A command at a terminal of its own: the terminal is the session's, so closing it hangs up."""

    def __init__(self, process: "subprocess.Popen[bytes]", master: int) -> None:
        super().__init__(process)
        self._master = master
        self._seen = ""

    @classmethod
    def open(cls, *arguments: object, cwd: Path, owned: bool = True) -> "Terminal":
        """
        Start a command at a new terminal of 80 by 24.

        Args:
            arguments: Of the command.

            cwd: Its folder.

            owned: Whether the terminal is the session's; one that is not hangs up without telling anybody.
        """
        master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        # the first terminal that the leader of a session opens becomes the session's own
        command = ["sh", "-c", 'exec "$@" <"$TTY" >"$TTY" 2>&1', "sh", *COMMAND, *map(str, arguments)]
        environment = {**os.environ, "TTY": os.ttyname(slave)}
        if owned:
            process = subprocess.Popen(command, cwd=cwd, env=environment, start_new_session=True)
        else:
            process = subprocess.Popen(
                [*COMMAND, *map(str, arguments)],
                cwd=cwd,
                stdin=slave,
                stdout=slave,
                stderr=slave,
                start_new_session=True,
            )
        os.close(slave)
        return cls(process, master)

    def expect(self, words: str, patience_s: float = PATIENCE_S) -> str:
        """What was shown up to and with these words, since the last look."""

        def shown() -> str | None:
            self._read()
            before, found, after = self._seen.partition(words)
            if not found:
                return None
            self._seen = after
            return before + found

        try:
            return wait_for(shown, f"{words!r} on the screen", patience_s)
        except AssertionError as error:
            raise AssertionError(f"{error}; shown: {self._seen[-2000:]}") from None

    def type(self, text: str) -> float:
        """Type a line; when."""
        self._read()
        os.write(self._master, text.encode() + b"\n")
        return now_s()

    def key(self, byte: bytes) -> float:
        """Press a key, as Ctrl-C; when."""
        os.write(self._master, byte)
        return now_s()

    def hang_up(self) -> float:
        """Close the terminal's window; when."""
        self._let_go()
        return now_s()

    def shown(self) -> str:
        """What has been shown and not looked at yet."""
        self._read()
        return self._seen

    def ended_within(self, since_s: float, longest_s: float) -> float:
        """As of any program; what it shows meanwhile is read, or it would wait for its reader."""

        def over() -> bool:
            self._read()
            return self.process.poll() is not None

        wait_for(over, "its end")
        return super().ended_within(since_s, longest_s)

    def converse(self, script: Sequence[tuple[str, str]]) -> None:
        """Answer what is asked, in order."""
        for words, reply in script:
            self.expect(words)
            self.type(reply)

    def close(self) -> None:
        """Nothing of it is left."""
        super().close()
        self._let_go()

    def _let_go(self) -> None:
        if self._master >= 0:
            os.close(self._master)
        self._master = -1

    def _read(self) -> None:
        while self._master >= 0 and select.select([self._master], [], [], 0)[0]:
            try:
                data = os.read(self._master, 65536)
            except OSError:  # the other end is closed
                return
            if not data:
                return
            self._seen += data.decode(errors="replace").replace("\r", "")

"""`commission` in a tmux window of its own: keys go in, the screen is read as a person reads it."""

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journeys.programs import COMMAND
from tests.journeys.site import PATIENCE_S, now_s, pause

NEEDS_TMUX = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed; the check installs it")

_ASKS = 3

LOOK_S = 0.03
"""Between two looks: each is a process of tmux, and the program needs the same cores."""

GONE_S = 0.5
"""Between two looks whether the program has ended."""

_COLOUR = re.compile(r"\x1b\[([\d;]*)m")


class Screen:
    """
    A window of a tmux server that nobody else uses.

    Args:
        socket: Folder of the server's socket.

        size: Columns and rows.
    """

    def __init__(self, socket: Path, size: tuple[int, int]) -> None:
        self._socket = socket
        self.size = size
        self.pressed: list[str] = []
        """Every key and every typed text, in order."""

    @classmethod
    def open(cls, *arguments: object, cwd: Path, size: tuple[int, int] = (80, 24), colour: bool = True) -> "Screen":
        """Start `commission` with these arguments in a new window."""
        screen = cls(Path(tempfile.mkdtemp(prefix="scr")), size)
        settings = ["LC_ALL=C.UTF-8", "COLORTERM=truecolor", *([] if colour else ["NO_COLOR=1"])]
        wide, high = size
        screen._tmux(
            *("-u", "-f", os.devnull, "new-session", "-d", "-s", "one", "-x", str(wide), "-y", str(high)),
            *("-c", str(cwd), "env", *settings, *COMMAND, *map(str, arguments)),
            *(";", "set-option", "-g", "remain-on-exit", "on"),
        )
        return screen

    def shown(self) -> str:
        """The screen as it is now, trailing blanks cut."""
        return self._tmux("capture-pane", "-p", "-t", "one", check=False)

    def body(self) -> str:
        """As `body_of`, of the screen as it is now."""
        return body_of(self.shown())

    def pane(self) -> str:
        """The right pane of the walk alone, which no clock and no age is part of."""
        return pane_of(self.shown())

    def expect(self, words: str, patience_s: float = PATIENCE_S) -> str:
        """The screen once it shows these words, wrapped or not; the test fails with the screen where it does not."""
        return self.until_shown(lambda shown: words in shown or words in body_of(shown), repr(words), patience_s)

    def until(self, found: Callable[[], bool], what: str, patience_s: float = PATIENCE_S) -> str:
        """The screen once `found` holds."""
        return self.until_shown(lambda _shown: found(), what, patience_s)

    def until_shown(self, found: Callable[[str], bool], what: str, patience_s: float = PATIENCE_S) -> str:
        """The screen once it is as wanted, in one look; the test fails with the screen where it never is."""
        until_s, gone_s = now_s() + patience_s, now_s() + GONE_S
        while not found(shown := self.shown()):
            why = f"waited {patience_s:g} s in vain for {what}" if now_s() > until_s else ""
            if not why and now_s() > gone_s:
                why = f"the program ended while the test waited for {what}" if self.gone() else ""
                gone_s = now_s() + GONE_S
            # it may have come, and the program gone, since the look
            assert not why or found(self.shown()), f"{why}; pressed {self.pressed[-6:]}; on the screen:\n{self.shown()}"
            pause(LOOK_S)
        return shown

    def press(self, *keys: str) -> None:
        """Press keys, by the names that tmux has for them."""
        self.pressed += keys
        self._tmux("send-keys", "-t", "one", *keys)

    def press_apart(self, first: str, seconds: float, second: str) -> None:
        """Press two keys so far apart, timed by the window's own server: starting a process takes too long for that."""
        self.pressed += (first, second)
        wait = ("run-shell", "-d", f"{seconds:.3f}")
        self._tmux("send-keys", "-t", "one", first, ";", *wait, ";", "send-keys", "-t", "one", second)

    def type(self, text: str) -> None:
        """Type a text, without Enter, all at once as a fast line brings it."""
        self.pressed.append(f"typed: {text}")
        self._tmux("send-keys", "-t", "one", "-l", text)

    def type_by_hand(self, text: str) -> None:
        """Type a text one character after the other, without Enter, as somebody's fingers do."""
        self.pressed.append(f"typed: {text}")
        for number, character in enumerate(text, start=1):
            self._tmux("send-keys", "-t", "one", "-l", character)
            if number in (1, len(text)):  # a program that is busy would take them all at once, as a paste
                self.until(lambda so_far=text[:number]: so_far in self.pane(), "what is typed")  # type: ignore[misc]  # bound now

    def colours(self) -> set[str]:
        """The colour settings on the screen that are no grey."""
        painted = self._tmux("capture-pane", "-p", "-e", "-t", "one")
        return {code for found in _COLOUR.findall(painted) for code in _coloured(found)}

    def pid(self) -> int:
        """Number of the program's process."""
        return int(self._tmux("display-message", "-p", "-t", "one", "#{pane_pid}"))

    def gone(self) -> bool:
        """Whether the program has ended; what it said last stays on the screen."""
        for _ in range(_ASKS):  # a server that is busy may say nothing at all, once
            if self._tmux("display-message", "-p", "-t", "one", "#{pane_dead}", check=False).strip() == "0":
                return False
            pause(LOOK_S)
        return True

    def close(self) -> None:
        """End the server, and whatever still runs in it."""
        self._tmux("kill-server", check=False)
        shutil.rmtree(self._socket, ignore_errors=True)

    def _tmux(self, *words: str, check: bool = True) -> str:
        environment = {**os.environ, "TMUX_TMPDIR": str(self._socket)}
        environment.pop("TMUX", None)
        done = subprocess.run(
            ["tmux", "-L", "journey", *words], env=environment, capture_output=True, text=True, timeout=20, check=False
        )
        assert not check or done.returncode == 0, f"tmux {words}: {done.stderr}"
        return done.stdout


def pane_of(shown: str) -> str:
    """As `Screen.pane`, of one look."""
    return "\n".join(line.split("│", 1)[1] for line in shown.splitlines() if "│" in line)


def body_of(shown: str) -> str:
    """The right pane of the walk, or the whole screen where there is none, its wrapped lines joined."""
    lines = [line.split("│", 1)[-1] if "│" in line else line for line in shown.splitlines()]
    return " ".join(" ".join(lines).split())


def _coloured(codes: str) -> list[str]:
    """Which of the numbers of one setting name a colour that is no grey."""
    parts, found = [int(part or 0) for part in codes.split(";")], []
    while parts:
        code = parts.pop(0)
        if code in (38, 48) and parts[:1] == [2]:
            red, green, blue = parts[1:4]
            del parts[:4]
            found += [f"rgb {red} {green} {blue}"] if len({red, green, blue}) > 1 else []
        elif code in (38, 48) and parts[:1] == [5]:
            number = parts[1]
            del parts[:2]
            found += [f"palette {number}"] if number not in _GREYS else []
        elif code in range(31, 37) or code in range(41, 47) or code in range(91, 97) or code in range(101, 107):
            found.append(str(code))
    return found


_GREYS = {0, 7, 8, 15, 16, 59, 102, 145, 188, 231, *range(232, 256)}
"""Greys of the palette of 256 colours (the 6 x 6 x 6 cube's diagonal and the ramp)."""

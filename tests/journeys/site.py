"""People at a practice unit and its true state, for tests; and waiting for things to happen."""

import json
import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from commission.clock import NS_PER_S, Clock
from commission.practice.process import PracticeProcess, running
from commission.practice.setup import setup_of
from commission.sheet import load_sheet

T = TypeVar("T")
PATIENCE_S = 30.0
"""Longest wait for anything; a loaded machine may take its time."""

LOOK_S = 0.005
_CLOCK = Clock()


def now_s() -> float:
    """Seconds of wire time."""
    return _CLOCK.wire_ns() / NS_PER_S


def pause(seconds: float) -> None:
    """Let a process live on for so long."""
    threading.Event().wait(seconds)


def wait_for(found: Callable[[], T | None], what: str, patience_s: float = PATIENCE_S) -> T:
    """What `found` gives once it gives something; the test fails where it does not."""
    until_s = now_s() + patience_s
    while not (seen := found()):
        assert now_s() < until_s, f"waited {patience_s:g} s in vain for {what}"
        pause(LOOK_S)
    return seen


class Desk:
    """
    The people on site of one practice unit.

    Args:
        unit: The unit.
    """

    def __init__(self, unit: PracticeProcess) -> None:
        self.unit = unit
        host, _, port = unit.at.control.partition(":")
        self._where = (host, int(port))

    @property
    def url(self) -> str:
        """Where the unit is reached."""
        return self.unit.at.url

    @property
    def address(self) -> str:
        """Where the people are reached."""
        return self.unit.at.control

    def act(self, name: str, value: object = None) -> None:
        """Do one thing."""
        assert self._ask(act=name, value=value) == {"done": True}

    def read(self, name: str) -> Any:
        """Look at one thing."""
        return self._ask(read=name)["value"]

    def truth(self) -> dict[str, Any]:
        """The true state."""
        return dict(self.read("truth"))

    def moving(self, least_pct: float = 2.0) -> dict[str, Any]:
        """The true state, once an opening valve has come so far."""

        def seen() -> dict[str, Any] | None:
            truth = self.truth()
            return truth if truth["travel_pct"] > least_pct and truth["pump_on"] else None

        return wait_for(seen, f"travel above {least_pct:g} %")

    def stopped_within(self, since_s: float, longest_s: float) -> float:
        """Seconds since then until the pump is off at the unit; the test fails where that took longer."""
        wait_for(lambda: not self.truth()["pump_on"], "the pump to stop", 20.0)
        took_s = now_s() - since_s
        assert took_s <= longest_s, f"the pump stopped after {took_s:.3f} s, {longest_s:g} s allowed"
        return took_s

    def freeze(self) -> None:
        """Let the unit's process stand still: it is silent, as with a cable pulled."""
        os.kill(self.unit.pid, signal.SIGSTOP)

    def thaw(self) -> None:
        """Let it live again."""
        os.kill(self.unit.pid, signal.SIGCONT)

    def stands(self) -> bool:
        """Whether the valve stands still in mid-travel, oil locked in, over a while of unit time."""
        before = self.truth()
        after = wait_for(lambda: _later(before, self.truth()), "two seconds of unit time")
        still = abs(after["travel_pct"] - before["travel_pct"]) < 0.1
        return still and not after["pump_on"] and not after["dump_open"] and 0.5 < after["travel_pct"] < 99.5

    def _ask(self, **request: object) -> dict[str, Any]:
        with socket.create_connection(self._where, timeout=PATIENCE_S) as line, line.makefile("rwb") as stream:
            stream.write(json.dumps(request).encode() + b"\n")
            stream.flush()
            return dict(json.loads(stream.readline()))


def _later(before: dict[str, Any], now: dict[str, Any]) -> dict[str, Any] | None:
    return now if now["at_s"] - before["at_s"] >= 2.0 else None


@contextmanager
def served(
    sheet: Path, url: str = "tcp://127.0.0.1:0", *, speed: float, start_at: str = "closed", scenario: str = ""
) -> Iterator[Desk]:
    """A practice unit in a process of its own for the length of a `with` block."""
    setup = setup_of(load_sheet(sheet)[0], scenario)
    with running(sheet, url, speed=speed, seed=11, start_at=start_at, setup=setup) as unit:
        desk = Desk(unit)
        yield desk
        desk.thaw()

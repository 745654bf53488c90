"""
Waiting, hands-free, until readings have stood still: the newest seconds of what was seen, and whether they are settled.

A procedure watches through it. Nothing is compared across a silence.
"""

from collections import deque
from collections.abc import Generator, Mapping
from math import fsum

from commission.procedures.requests import Answer, Ask, Reply, Request, Watch
from commission.sample import Silence
from commission.sheet.decode import Readings

SETTLED_S = 2.0
"""Settled: still for this long (common practice, no source)."""

STILL_TRAVEL = 0.003
"""Noise of a position sensor in good order is within 0.2 % (trade guide H3)."""

STILL_CURRENT_A = 5e-5

_ENOUGH = 0.8
"""Share of the window that the samples must span."""


class Settling:
    """
    The newest seconds of readings.

    Args:
        still: For each role that has to stand still, how much it may change; a role that is not read does not count.
    """

    def __init__(self, still: Mapping[str, float]) -> None:
        self._still = still
        self._window: deque[Readings] = deque()
        self.last_ns = 0

    @property
    def latest(self) -> Readings | None:
        """The newest readings since the last silence, or None."""
        return self._window[-1] if self._window else None

    @property
    def settled(self) -> bool:
        """Whether all has stood still for the window, with the motor stopped where the unit shows it."""
        window = self._window
        if len(window) < 2 or window[-1].at_ns - window[0].at_ns < _ENOUGH * SETTLED_S * 1e9:
            return False
        return not window[-1].bit("motor_running") and all(
            _range(self._values(role)) <= most for role, most in self._still.items()
        )

    def value(self, role: str) -> float | None:
        """The newest value of a role, or None."""
        latest = self.latest
        return None if latest is None else latest.value(role)

    def bit(self, role: str) -> bool:
        """The newest state of a bit; False where it is not read."""
        latest = self.latest
        return latest is not None and bool(latest.bit(role))

    def mean(self, role: str) -> float | None:
        """The mean of a role over the window, or None."""
        values = self._values(role)
        return fsum(values) / len(values) if values else None

    def watch(self) -> Generator[Request, Reply, int]:
        """Take the next sample or silence; its time, in nanoseconds."""
        yield from self.watch_asking(None)
        return self.last_ns

    def watch_asking(self, question: Ask | None) -> Generator[Request, Reply, bool]:
        """Take the next sample or silence with a question open; False where it was answered instead."""
        item = yield Watch(asking=question)
        if isinstance(item, Answer):
            return False
        if isinstance(item, Silence):
            self._window.clear()
        elif isinstance(item, Readings):
            self._window.append(item)
            while item.at_ns - self._window[0].at_ns > SETTLED_S * 1e9 and len(self._window) > 2:
                self._window.popleft()
        else:
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        self.last_ns = item.at_ns
        return True

    def see(self) -> Generator[Request, Reply, int]:
        """Watch until a reading comes, however many silences before it; a silence says nothing of where a valve is."""
        at_ns = yield from self.watch()
        while self.latest is None:
            at_ns = yield from self.watch()
        return at_ns

    def watch_for(self, seconds: float) -> Generator[Request, Reply, int]:
        """Watch for so many seconds; the time of the last sample."""
        begun_ns = at_ns = yield from self.watch()
        while at_ns - begun_ns < seconds * 1e9:
            at_ns = yield from self.watch()
        return at_ns

    def settle(self, within_s: float) -> Generator[Request, Reply, bool]:
        """Watch until all has stood still; False where it does not within so many seconds."""
        begun_ns = self.last_ns
        while not self.settled:
            if (yield from self.watch()) - begun_ns > within_s * 1e9:
                return False
        return True

    def _values(self, role: str) -> list[float]:
        return [value for readings in self._window if (value := readings.value(role)) is not None]


def _range(values: list[float]) -> float:
    return max(values) - min(values) if values else 0.0

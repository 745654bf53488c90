"""
Wire time and unit time.

Wire time is this laptop's monotonic clock: time-outs, silences, back-off, keys. Unit time is the clock the unit lives
by: strokes, ages, dwells, leave, permits. On a real unit they are the same. On a practice unit served at `--speed N`
unit time runs N times wire time, so that a 146 s stroke is watched in 146/N s and still measures 146 s; half-widths are
taken in wire time and multiplied.

Everything that waits or asks for the time goes through one `Clock`, which is how tests run in virtual time.
"""

import asyncio
import math
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

NS_PER_S = 1_000_000_000

_SPIN_S = 0.0012
"""The event loop rounds its timers up to a whole millisecond; the last part of an exact wait is spun instead."""


def system_utc() -> datetime:
    """The laptop's own clock, in UTC."""
    return datetime.now(UTC)  # noqa: TID251  # the one place that asks


class Clock:
    """
    The two clocks of one session.

    Args:
        wire_ns: A monotonic count of nanoseconds.

        utc: The laptop's calendar clock, timezone aware.

        spin_s: How much of an exact wait is spun rather than slept; 0 where time is virtual.
    """

    def __init__(
        self,
        wire_ns: Callable[[], int] = time.monotonic_ns,
        utc: Callable[[], datetime] = system_utc,
        spin_s: float = _SPIN_S,
    ) -> None:
        self._wire_ns = wire_ns
        self._utc = utc
        self._spin_s = spin_s
        self._wire_origin_ns = wire_ns()
        self._unit_origin_ns = self._wire_origin_ns
        self._speed = 1.0

    @property
    def speed(self) -> float:
        """How many seconds of unit time pass in one second of wire time."""
        return self._speed

    def run_at(self, speed: float) -> None:
        """
        Let unit time run `speed` times wire time from now on; unit time does not jump.

        Raises:
            ValueError: speed is not a finite number above zero.
        """
        if not 0 < speed < math.inf:
            raise ValueError(f"speed must be a number above 0, not {speed}")
        wire_ns = self._wire_ns()  # asked once: two questions would lose the time between them
        self._unit_origin_ns = self.unit_of_wire(wire_ns)
        self._wire_origin_ns = wire_ns
        self._speed = speed

    def skip(self, seconds: float) -> None:
        """
        Let unit time jump forward: a wait on a practice unit, which skips the same. It is recorded as shortened.

        Raises:
            ValueError: seconds is below zero.
        """
        if seconds < 0:
            raise ValueError(f"time does not run back by {-seconds:g} s")
        self._unit_origin_ns += round(seconds * NS_PER_S)

    def wire_ns(self) -> int:
        """Wire time, in nanoseconds from an arbitrary origin."""
        return self._wire_ns()

    def unit_ns(self) -> int:
        """Unit time, in nanoseconds from the same origin as wire time."""
        return self.unit_of_wire(self._wire_ns())

    def unit_of_wire(self, wire_ns: int) -> int:
        """The unit time at which the wire clock read `wire_ns`."""
        return self._unit_origin_ns + round((wire_ns - self._wire_origin_ns) * self._speed)

    def utc(self) -> datetime:
        """
        UTC as the visit lives it: the laptop's clock, advanced by what unit time has gained on wire time.

        Equal to the laptop's clock on a real unit, which is also how a clock change or a closed lid shows.
        """
        wire_ns = self._wire_ns()
        gained_ns = self.unit_of_wire(wire_ns) - wire_ns
        return self._utc() + timedelta(microseconds=gained_ns / 1000)

    async def sleep_wire(self, seconds: float) -> None:
        """Wait at least `seconds` of wire time; coarse, for pauses between events."""
        await asyncio.sleep(max(0.0, seconds))

    async def sleep_unit(self, seconds: float) -> None:
        """Wait at least `seconds` of unit time."""
        await asyncio.sleep(max(0.0, seconds) / self._speed)

    async def until_unit(self, unit_ns: int) -> None:
        """Wait until unit time reaches `unit_ns`, as exactly as `until_wire`."""
        await self.until_wire(self._wire_ns() + round((unit_ns - self.unit_ns()) / self._speed))

    async def until_wire(self, wire_ns: int) -> None:
        """Wait until the wire clock reads `wire_ns`, to a few microseconds: sleeps, then spins the rest."""
        remaining_s = (wire_ns - self._wire_ns()) / NS_PER_S
        if remaining_s > self._spin_s:
            await asyncio.sleep(remaining_s - self._spin_s)
        if self._spin_s > 0:
            while self._wire_ns() < wire_ns:
                pass

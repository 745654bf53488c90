"""
Time of a practice unit that is skipped while a test only watches: by the unit and the program together, after a sample
and before the next, so that none is taken between the two jumps. A second of each minute is still lived and read.
"""

import asyncio
from collections.abc import Awaitable, Callable

from commission.clock import NS_PER_S, Clock

SKIPPED_S = 59.0
LIVED_S = 1.0

AtUnit = Callable[[float], Awaitable[object]]
"""Lets so many seconds pass at the unit, in unit time."""


class Passing:
    """
    A wait that is being shortened.

    Args:
        seconds: How much unit time is to be skipped in all.

        at_unit: Does it at the unit.

    Attributes:
        passed_s: Skipped so far, in seconds.
    """

    def __init__(self, seconds: float, at_unit: AtUnit) -> None:
        self.passed_s = 0.0
        self._wanted_s = seconds
        self._at_unit = at_unit
        self._due_ns = 0
        self._over: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    @property
    def is_over(self) -> bool:
        """Whether nothing is skipped any more."""
        return self._over.done()

    async def go_on(self, clock: Clock) -> None:
        """A sample was taken: skip what is due now."""
        if self.is_over or clock.unit_ns() < self._due_ns:
            return
        seconds = min(SKIPPED_S, self._wanted_s - self.passed_s)
        try:
            await self._at_unit(seconds)
        except Exception as trouble:  # noqa: BLE001  # it is told to whoever lets time pass, and is no fault of the test
            self._over.set_exception(trouble)
            return
        clock.skip(seconds)
        self.passed_s += seconds
        self._due_ns = clock.unit_ns() + round(LIVED_S * NS_PER_S)
        if self.passed_s >= self._wanted_s:
            self.end()

    def end(self) -> None:
        """The test is over, or all has passed."""
        if not self.is_over:
            self._over.set_result(None)

    async def wait(self) -> None:
        """Until it is over; raises what the unit said where it would not."""
        await self._over

"""
Who may go on the wire when: the lanes, the quiet time after a failure, and the exchange in flight that make-safe cuts.

Knows nothing of Modbus. Times of the flight are those of the event loop, the quiet time is wire time.
"""

import asyncio
import contextlib
from enum import Enum

import msgspec

from commission.clock import NS_PER_S, Clock
from commission.link.lanes import Lane, Lanes


class Cut(Enum):
    """Why an exchange in flight was given up before its time-out."""

    OVERTAKEN = "a make-safe write had to go"
    LOST = "the connection was lost"
    WRONG = "something else than the answer came"


class Flight(msgspec.Struct):
    """
    The exchange in flight.

    Args:
        lane: Whose it is.

        scope: The time-out around it, which can be shortened.

        yields_s: Loop time at which it makes way for a make-safe write.
    """

    lane: Lane
    scope: asyncio.Timeout
    yields_s: float
    cut: Cut | None = None


class Turns:
    """
    The turns of one wire.

    Args:
        clock: The session's clock.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._lanes = Lanes()
        self._quiet_until_ns = clock.wire_ns()
        self.flight: Flight | None = None

    def quiet_left_s(self) -> float:
        """Seconds of wire time in which only make-safe may still go; 0 or less where all may."""
        return (self._quiet_until_ns - self._clock.wire_ns()) / NS_PER_S

    def stay_quiet_until(self, wire_ns: int) -> None:
        """Let nothing but make-safe go before this wire time; never shortens an earlier wish."""
        self._quiet_until_ns = max(self._quiet_until_ns, wire_ns)

    async def enter(self, lane: Lane) -> None:
        """
        Wait for the turn; make-safe hurries what is in flight.

        All but make-safe wait for the quiet time too, and do it without holding the turn.
        """
        if lane is Lane.MAKE_SAFE:
            self._hurry()
            await self._lanes.acquire(lane)
            return
        while True:
            while (left_s := self.quiet_left_s()) > 0:
                await self._clock.sleep_wire(left_s)
            await self._lanes.acquire(lane)
            if self.quiet_left_s() <= 0:
                return
            self._lanes.release()

    def leave(self) -> None:
        """Give the turn away."""
        self.flight = None
        self._lanes.release()

    def cut(self, why: Cut, at_s: float | None = None) -> None:
        """End the exchange in flight now, or at this loop time if that is before its time-out."""
        flight = self.flight
        if flight is None or flight.cut is not None or flight.scope.expired():
            return
        now_s = asyncio.get_running_loop().time()
        when_s = max(now_s, at_s or now_s)
        if when_s < (flight.scope.when() or when_s + 1):
            with contextlib.suppress(RuntimeError):  # it ended in this very turn of the loop
                flight.scope.reschedule(when_s)
                flight.cut = why

    def _hurry(self) -> None:
        if self.flight is not None and self.flight.lane is not Lane.MAKE_SAFE:
            self.cut(Cut.OVERTAKEN, self.flight.yields_s)

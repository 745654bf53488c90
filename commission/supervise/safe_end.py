"""
The safe end of a motion: sent, sent again, and believed only when the unit is seen to have taken it.

Safety rule R10: it becomes *send nothing* where an ESD, a trip, a latch, LOCAL or OFF is seen; one that is not seen
received within its life lapses, and nothing is sent after that without a new count, go and leave. Rule R8: a stop is
sent again every 0.3 s until it is seen received.
"""

import asyncio
from enum import StrEnum

import msgspec

from commission.clock import NS_PER_S, Clock
from commission.link.faults import LinkError
from commission.procedures.requests import Begin, SafeEnd
from commission.sample import Outcome, Sample, Written
from commission.sheet.decode import Decoder, Readings
from commission.supervise.rest import RestWatch
from commission.supervise.surroundings import SampleSource, Unit
from commission.supervise.trail import Trail

LIFE_S = 3.0
"""Longest life of a safe end, in wire time; never longer than the unit's own guard."""

AGAIN_S = 0.3
"""A make-safe command is sent again after this much wire time until it is seen received."""


class SafeEndSeen(StrEnum):
    """What became of the safe end; the screen says which."""

    NOT_NEEDED = "not needed"
    CONFIRMED = "confirmed"
    UNCONFIRMED = "unconfirmed"
    WITHHELD = "withheld"


class SafeEndReport(msgspec.Struct, frozen=True):
    """What became of the safe end, with the reason in words."""

    seen: SafeEndSeen
    reason: str


def life_s(guard_s: float | None) -> float:
    """How long a safe end lives, in seconds of wire time."""
    return LIFE_S if guard_s is None else min(LIFE_S, guard_s)


async def perform(
    begin: Begin, unit: Unit, source: SampleSource, decoder: Decoder, trail: Trail, taken_over: str
) -> SafeEndReport:
    """
    Carry out the safe end that was agreed.

    Args:
        begin: What the motion began with.

        unit: Where it is sent.

        source: Samples, to see it received.

        decoder: Reads them.

        trail: Where it is written.

        taken_over: Why the valve is somebody else's now; empty where it is not.
    """
    command = begin.safe_command
    if taken_over:
        return SafeEndReport(SafeEndSeen.WITHHELD, taken_over)
    if begin.safe_end is SafeEnd.SEND_NOTHING or command is None:
        return SafeEndReport(SafeEndSeen.WITHHELD, "nothing here stops this stroke; agreed beforehand: send nothing")
    effort = _Effort(begin, unit, source, decoder, trail)
    return await effort.until_received(command.role, command.value)


class _Effort:
    """Sends and looks, until received, taken over, or at the end of its life."""

    def __init__(self, begin: Begin, unit: Unit, source: SampleSource, decoder: Decoder, trail: Trail) -> None:
        self._begin = begin
        self._unit = unit
        self._source = source
        self._decoder = decoder
        self._trail = trail
        self._rest = RestWatch()
        self._clock: Clock = unit.clock
        self._deadline_ns = self._clock.wire_ns() + round(life_s(unit.sheet.link.guard_s) * NS_PER_S)
        self._taken_over = ""

    async def until_received(self, role: str, value: int) -> SafeEndReport:
        """Send the command again and again until the unit is seen to have taken it."""
        last = "nothing was sent"
        while self._left_s() > 0:
            next_send_ns = self._clock.wire_ns() + round(AGAIN_S * NS_PER_S)
            last = await self._send(role, value)
            while self._clock.wire_ns() < next_send_ns and self._left_s() > 0:
                await self._look(min(next_send_ns, self._deadline_ns))
                if self._taken_over:
                    return SafeEndReport(SafeEndSeen.WITHHELD, self._taken_over)
                if self._rest.at_rest:
                    return SafeEndReport(SafeEndSeen.CONFIRMED, "the valve is seen at rest")
        return SafeEndReport(SafeEndSeen.UNCONFIRMED, f"not seen received within {LIFE_S:g} s; {last}. Stay clear")

    async def _send(self, role: str, value: int) -> str:
        try:
            async with asyncio.timeout(max(self._left_s(), 0.001)):
                written = await self._unit.make_safe(role, value)
        except TimeoutError:
            written = Written(self._clock.unit_ns(), 0, Outcome.UNANSWERED, "the line did not come free")
        except LinkError as error:
            written = Written(self._clock.unit_ns(), 0, Outcome.UNANSWERED, str(error))
        self._trail.sent(role, value, written, "safe end")
        return written.reason or f"it was {written.outcome}"

    async def _look(self, until_wire_ns: int) -> None:
        wait_s = (until_wire_ns - self._clock.wire_ns()) / NS_PER_S
        try:
            async with asyncio.timeout(max(wait_s, 0.001)):
                item = await self._source.next()
        except TimeoutError:
            return
        if not isinstance(item, Sample):
            self._trail.silence(item)
            self._rest.forget()
            return
        readings = self._decoder.decode(item)
        self._trail.sample(item, readings)
        self._rest.see(readings)
        self._taken_over = taken_over_by(self._begin, readings)

    def _left_s(self) -> float:
        return (self._deadline_ns - self._clock.wire_ns()) / NS_PER_S


def taken_over_by(begin: Begin, readings: Readings) -> str:
    """Why the valve is somebody else's, by the guards that say so; empty where it is not."""
    for guard in begin.guards.values():
        tripped = guard(readings)
        if tripped is not None and tripped.taken_over:
            return tripped.reason
    return ""

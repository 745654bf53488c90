"""
The safe end of a motion: sent, sent again, and believed only when the unit is seen to have taken it.

Safety rule R10: it becomes *send nothing* where an ESD, a trip, a latch, LOCAL or OFF is seen; one that is not seen
received within its life lapses, and nothing is sent after that without a new count, go and leave. Rule R8: a stop is
sent again every 0.3 s until it is seen received.

Nothing that fails in here, be it the line, the record or a guard, ends the effort before its life is over.
"""

import asyncio
import contextlib
from enum import StrEnum

import msgspec

from commission.clock import NS_PER_S, Clock
from commission.link.faults import LinkError
from commission.procedures.requests import Begin, CommandValue, SafeEnd
from commission.sample import Outcome, Written
from commission.sheet.decode import Readings
from commission.supervise.surroundings import Unit
from commission.supervise.trail import Trail
from commission.supervise.watching import Watching

LIFE_S = 3.0
"""Longest life of a safe end, in wire time; never longer than the unit's own guard."""

AGAIN_S = 0.3
"""A make-safe command is sent again after this much wire time until it is seen received."""

REST_S = 1.0
"""At rest for this much unit time, a stop has been received: longer than a valve takes to start moving after a command
that was given just before (common practice, no source)."""

REST_UNANSWERED_S = 2.0
"""The same where no stop has been answered."""


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


async def perform(begin: Begin, unit: Unit, watching: Watching, trail: Trail, taken_over: str) -> SafeEndReport:
    """
    Carry out the safe end that was agreed.

    Args:
        begin: What the motion began with.

        unit: Where it is sent.

        watching: Samples, to see it received.

        trail: Where it is written.

        taken_over: Why the valve is somebody else's now; empty where it is not.
    """
    command = begin.safe_command
    if taken_over:
        return SafeEndReport(SafeEndSeen.WITHHELD, taken_over)
    if begin.safe_end is SafeEnd.SEND_NOTHING or command is None:
        return SafeEndReport(SafeEndSeen.WITHHELD, "nothing here stops this stroke; agreed beforehand: send nothing")
    return await _Effort(begin, unit, watching, trail).until_received(command)


class _Effort:
    """Sends and looks, until received, taken over, or at the end of its life."""

    def __init__(self, begin: Begin, unit: Unit, watching: Watching, trail: Trail) -> None:
        self._begin = begin
        self._unit = unit
        self._watching = watching
        self._trail = trail
        self._clock: Clock = unit.clock
        self._life_s = life_s(unit.sheet.link.guard_s)
        self._deadline_ns = self._clock.wire_ns() + round(self._life_s * NS_PER_S)
        self._answered = False

    async def until_received(self, command: CommandValue) -> SafeEndReport:
        """Send the command again and again until the unit is seen to have taken it."""
        last = "nothing was sent"
        self._watching.rest.forget()
        while self._left_s() > 0:
            again_ns = min(self._clock.wire_ns() + round(AGAIN_S * NS_PER_S), self._deadline_ns)
            last = await self._send(command)
            while (wait_s := (again_ns - self._clock.wire_ns()) / NS_PER_S) > 0:
                taken_over = await self._look(wait_s)
                if taken_over:
                    return SafeEndReport(SafeEndSeen.WITHHELD, taken_over)
                if words := self._received(command):
                    return SafeEndReport(SafeEndSeen.CONFIRMED, words)
        return SafeEndReport(
            SafeEndSeen.UNCONFIRMED, f"not seen received within {self._life_s:g} s; {last}. Stay clear"
        )

    async def _send(self, command: CommandValue) -> str:
        try:
            async with asyncio.timeout(min(AGAIN_S, self._left_s())):
                written = await self._unit.make_safe(command.role, command.value)
        except TimeoutError:
            written = self._unsent(Outcome.UNANSWERED, "no answer before it was sent again")
        except LinkError as error:
            written = self._unsent(Outcome.REFUSED, str(error))
        except Exception as error:  # noqa: BLE001  # whatever went wrong in here, it is tried again
            written = self._unsent(Outcome.UNANSWERED, f"the program failed: {error}")
        self._answered |= written.outcome is Outcome.ANSWERED
        words = written.reason or f"it was {written.outcome}"
        try:
            self._trail.sent(command.role, command.value, written, "safe end")
        except Exception as error:  # noqa: BLE001  # a record that fails never keeps a stop from the valve
            words = f"{words}; not recorded: {error}"
        return words

    async def _look(self, wait_s: float) -> str:
        """See one more sample; why the valve is somebody else's, or empty."""
        before = self._watching.latest
        with contextlib.suppress(Exception):  # the same: what was seen is remembered before it is recorded
            await self._watching.next(wait_s=wait_s)
        latest = self._watching.latest
        return "" if latest is before or latest is None else taken_over_by(self._begin, latest)

    def _received(self, command: CommandValue) -> str:
        """How the unit shows that it has taken the command; empty where it does not yet."""
        rest = self._watching.rest
        if self._begin.safe_end is SafeEnd.STOP:
            needed_s = REST_S if self._answered else REST_UNANSWERED_S
            return "the valve is seen at rest" if rest.rest_s >= needed_s else ""
        way, limit = _ENDS.get(command.role, (0, ""))
        if way and rest.heading == way:
            return "the valve is seen returning"
        latest = self._watching.latest
        pumped = latest is not None and bool(latest.bit("motor_running")) and rest.travel_still is True
        if way and pumped:  # a pump stroke is too slow to be told from standing still in half a second
            return "the motor is seen running, the valve goes no farther"
        home = latest is not None and bool(latest.bit(limit)) and rest.rest_s >= REST_S
        return "the valve is seen at its end" if home else ""

    def _unsent(self, outcome: Outcome, reason: str) -> Written:
        return Written(self._clock.unit_ns(), 0, outcome, reason)

    def _left_s(self) -> float:
        return (self._deadline_ns - self._clock.wire_ns()) / NS_PER_S


async def see_home(begin: Begin, clock: Clock, watching: Watching, once_more: asyncio.Event) -> SafeEndReport:
    """
    Watch a valve that was seen returning until it is at its end.

    Args:
        begin: What the motion began with.

        clock: Unit time.

        watching: Samples.

        once_more: Ends the watching: somebody stops, or asks for the return again.

    Returns:
        *Confirmed* where it came home, *unconfirmed* where it did not in time, *withheld* where it was taken over.
    """
    within_s = begin.home_within_s
    role = "" if begin.safe_command is None else begin.safe_command.role
    limit = _ENDS.get(role, (0, ""))[1]
    if within_s is None or not limit:
        return SafeEndReport(SafeEndSeen.CONFIRMED, "the valve is seen returning")
    until_ns = clock.unit_ns() + round(within_s * NS_PER_S)
    while clock.unit_ns() < until_ns and not once_more.is_set():
        before = watching.latest
        with contextlib.suppress(Exception):  # what was seen is remembered before it is recorded
            await watching.next(wait_s=AGAIN_S)
        latest = watching.latest
        if latest is None or latest is before:
            continue
        if taken_over := taken_over_by(begin, latest):
            return SafeEndReport(SafeEndSeen.WITHHELD, taken_over)
        if latest.bit(limit):
            return SafeEndReport(SafeEndSeen.CONFIRMED, "the valve is seen back at its end")
    if once_more.is_set():
        return SafeEndReport(SafeEndSeen.UNCONFIRMED, "asked for anew on the way back")
    words = f"returning, but not seen at its end within {within_s:.0f} s: VALVE UNAVAILABLE, tell the controller now"
    return SafeEndReport(SafeEndSeen.UNCONFIRMED, words)


_ENDS = {"command_open": (1, "open_limit"), "command_close": (-1, "closed_limit")}
"""Which way a return goes, and the limit that it makes."""


def taken_over_by(begin: Begin, readings: Readings) -> str:
    """Why the valve is somebody else's, by the guards that say so; empty where it is not."""
    for guard in begin.guards.values():
        try:
            tripped = guard(readings)
        except Exception:  # noqa: BLE001, S112  # a guard that fails has nothing to say about a safe end
            continue
        if tripped is not None and tripped.taken_over:
            return tripped.reason
    return ""

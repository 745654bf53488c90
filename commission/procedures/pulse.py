"""
I2: prove each command in control, before it may be used live (safety rule R8).

The motor supply is locked off, pressure is zero, the valve is at its fail position: a pulse can move nothing, but the
unit shows that it took it. The command of the pump's direction, open unless oil closes the valve, is seen by the
motor's contactor closing; stop and the other direction are each seen by the contactor opening again after it. Every
pulse ends with the contactor open.

The start of a partial stroke has no effect that could be seen there: with the valve closed the unit must refuse it.
That refusal, as a command it cannot obey now and not as an address it does not have, tells this point from all others.
"""

from collections.abc import Generator

from commission.procedures.pulse_seen import PulseSeen, PulsesSeen
from commission.procedures.pulse_set_point import has_set_point, prove_set_point
from commission.procedures.requests import (
    Begin,
    Command,
    CommandValue,
    Note,
    Procedure,
    Reply,
    Request,
    SafeEnd,
    Sent,
    Tripped,
    Watch,
)
from commission.sample import Outcome, Silence
from commission.sheet import Sheet
from commission.sheet.decode import Readings

SEEN_WITHIN_S = 3.0
"""A command's effect shows within this of unit time, or it is not proved (common practice, no source)."""

LONGEST_S = 30.0

INHIBITS = {"alarm_oil_cold": "the oil is too cold", "alarm_fluid": "fluid is low"}
"""Alarms in which a unit rightly keeps its pump off: then no contactor can show a command."""

WATCHED = ("motor_running", "travel", "cylinder_pressure", "open_limit", "closed_limit", "alarm_relay", *INHIBITS)

MOST_TRAVEL = 0.02
MOST_PRESSURE_PA = 5e5
"""More travel or pressure than this in control is a movement that nobody allowed (common practice, no source)."""


def prove_commands(sheet: Sheet, test: str) -> Procedure[PulsesSeen]:
    """
    Pulse open, stop, open and close (close, stop, close and open where oil closes the valve), each seen by the motor's
    contactor; and see a partial stroke refused. A unit that takes set points instead has these proved.

    Args:
        sheet: The unit's sheet.

        test: Names the run.

    Returns:
        What each pulse did.

    Raises:
        ValueError: the unit lacks a command, or the motor bit to see it by.
    """
    if has_set_point(sheet) and not sheet.has("command_open"):
        return (yield from prove_set_point(sheet, test))
    missing = [role for role in (*_COMMANDS, "motor_running") if not sheet.has(role)]
    if missing:
        raise ValueError(f"the sheet has no point for {', '.join(missing)}: commands cannot be proved by a pulse")
    yield _begin(sheet, test)
    contactor = _Contactor(sheet)
    if not_ready := (yield from contactor.why_not_ready()):
        yield Note(not_ready)
        return PulsesSeen(tuple(PulseSeen(role, proved=False, words=f"not tried: {not_ready}") for role in _COMMANDS))
    pulses = []
    for role, closes in _sequence(sheet):
        seen = yield from contactor.pulse(role, closes=closes)
        pulses.append(seen)
        yield Note(f"{role}: {seen.words}")
    if starts_partial(sheet):
        refused = yield from _refused_partial(sheet)
        pulses.append(refused)
        yield Note(f"{PARTIAL}: {refused.words}")
    return PulsesSeen(tuple(pulses))


_COMMANDS = ("command_open", "command_stop", "command_close")


def _sequence(sheet: Sheet) -> tuple[tuple[str, bool], ...]:
    """Each command with whether the contactor closes by it: the pump's own direction, then what ends it."""
    pumps, yields = ("command_open", "command_close") if sheet.actuator.pressure_opens else _COMMANDS[::-2]
    return ((pumps, True), ("command_stop", False), (pumps, True), (yields, False))


def _begin(sheet: Sheet, test: str) -> Begin:
    return Begin(
        test=test,
        commands=tuple(_value(sheet, role) for role in (*_COMMANDS, *((PARTIAL,) if starts_partial(sheet) else ()))),
        safe_end=SafeEnd.STOP,
        safe_command=_value(sheet, "command_stop"),
        guards={"nothing may move in control": _nothing_moves},
        roles=tuple(role for role in WATCHED if sheet.has(role)),
        longest_s=LONGEST_S,
    )


PARTIAL = "command_partial_stroke"
_NO_SUCH = (1, 2, 3)
"""Exceptions that say that there is no such function, address or value (Modbus Application Protocol V1.1b3, 7)."""


def starts_partial(sheet: Sheet) -> bool:
    """Whether the unit runs a partial stroke by itself and has a point to start it by."""
    plan = sheet.partial_stroke
    return plan is not None and plan.turned_by == "unit" and sheet.has(PARTIAL)


def _refused_partial(sheet: Sheet) -> Generator[Request, Reply, PulseSeen]:
    sent = yield Command(PARTIAL, _value(sheet, PARTIAL).value)
    if not isinstance(sent, Sent) or sent.outcome is Outcome.UNANSWERED:
        return PulseSeen(PARTIAL, proved=False, words="was not answered")
    if sent.outcome is Outcome.REFUSED and sent.code and sent.code not in _NO_SUCH:
        return PulseSeen(PARTIAL, proved=True, words=f"was refused, as it must be here ({sent.reason})")
    words = "was taken, although the valve is at its fail position" if sent.outcome is Outcome.ANSWERED else sent.reason
    return PulseSeen(PARTIAL, proved=False, words=words)


def _value(sheet: Sheet, role: str) -> CommandValue:
    point = sheet.point(role)
    return CommandValue(role, 1 if point is None else point.value)


def _nothing_moves(readings: Readings) -> Tripped | None:
    travel, pressure = readings.value("travel"), readings.value("cylinder_pressure")
    if travel is not None and MOST_TRAVEL < travel < 1 - MOST_TRAVEL:
        return Tripped(f"travel reads {travel * 100:.1f} %: the valve is moving in control")
    if pressure is not None and pressure > MOST_PRESSURE_PA:
        return Tripped(f"pressure reads {pressure / 1e5:.1f} bar in control: the motor supply is not off")
    return None


class _Contactor:
    """The motor's contactor as the unit shows it: what a pulse is seen by."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._closed: bool | None = None

    def why_not_ready(self) -> Generator[Request, Reply, str]:
        """Why no pulse may be given from here, or empty: contactor open, valve at its fail position (rule R8)."""
        seen = yield Watch()
        if not isinstance(seen, Readings):
            return "no sample came before the first pulse"
        self._closed = seen.bit("motor_running")
        if self._closed is not False:
            return "the motor contactor is not open"
        inhibited = next((words for role, words in INHIBITS.items() if seen.bit(role)), "")
        if inhibited:
            return f"the unit keeps its pump off, because {inhibited}"
        fail = self._sheet.actuator.fail_position
        if fail is not None and seen.bit(f"{fail.value}_limit") is False:
            return f"the valve is not at its fail position, {fail.value}"
        return ""

    def pulse(self, role: str, *, closes: bool) -> Generator[Request, Reply, PulseSeen]:
        """One pulse and what it did; a contactor that stands where it is to go cannot show anything."""
        if self._closed is closes:
            state = "closed" if closes else "open"
            return PulseSeen(role, proved=False, words=f"not tried, because the motor contactor was {state} already")
        sent = yield Command(role, _value(self._sheet, role).value)
        if not isinstance(sent, Sent) or sent.outcome is Outcome.REFUSED:
            reason = sent.reason if isinstance(sent, Sent) else ""
            return PulseSeen(role, proved=False, words=f"was refused: {reason}")
        if (yield from self._becomes(sent, closed=closes)):
            return PulseSeen(role, proved=True, words=f"{'closed' if closes else 'opened'} the motor contactor")
        return PulseSeen(role, proved=False, words=f"did not {'close' if closes else 'open'} the motor contactor")

    def _becomes(self, sent: Sent, *, closed: bool) -> Generator[Request, Reply, bool]:
        begun_ns = sent.at_ns - sent.half_width_ns
        while True:
            seen = yield Watch()
            if isinstance(seen, Readings) and (motor := seen.get("motor_running")) is not None:
                self._closed = motor.is_true
                if self._closed is closed and motor.at_ns + motor.half_width_ns > begun_ns:
                    return True
            if isinstance(seen, Readings | Silence) and seen.at_ns - sent.at_ns > SEEN_WITHIN_S * 1e9:
                return False

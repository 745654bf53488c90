"""
I2: prove each command in control, before it may be used live (safety rule R8).

The motor supply is locked off, pressure is zero, the valve is at its fail position: a pulse can move nothing, but the
unit shows that it took it. Command open is seen by the motor's contactor closing; stop and close are each seen by it
opening again.
"""

from collections.abc import Generator
from enum import StrEnum

import msgspec

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
"""A command's effect shows within this of unit time, or it is not proved."""

LONGEST_S = 30.0

WATCHED = ("motor_running", "travel", "cylinder_pressure", "open_limit", "closed_limit", "starts_total")

MOST_TRAVEL = 0.02
MOST_PRESSURE_PA = 5e5
"""More travel or pressure than this in control is a movement that nobody allowed (common practice, no source)."""

Steps = Generator[Request, Reply, bool]


class Pulsed(StrEnum):
    """What was seen of one command."""

    PROVED = "proved"
    NOT_SEEN = "no effect seen"
    REFUSED = "refused"


class PulseSeen(msgspec.Struct, frozen=True):
    """One command and what its pulse did."""

    role: str
    pulsed: Pulsed
    words: str


class PulsesSeen(msgspec.Struct, frozen=True):
    """All commands that were pulsed, in order."""

    pulses: tuple[PulseSeen, ...]

    @property
    def proved(self) -> tuple[str, ...]:
        """Roles that are proved."""
        return tuple(pulse.role for pulse in self.pulses if pulse.pulsed is Pulsed.PROVED)


def prove_commands(sheet: Sheet) -> Procedure[PulsesSeen]:
    """
    Pulse open, stop, open and close, each seen by the motor's contactor.

    Args:
        sheet: The unit's sheet.

    Returns:
        What each pulse did.

    Raises:
        ValueError: the unit lacks a command or the motor bit; the message says which.
    """
    missing = [role for role in (*_COMMANDS, "motor_running") if not sheet.has(role)]
    if missing:
        raise ValueError(f"the sheet has no point for {', '.join(missing)}: commands cannot be proved by a pulse")
    yield _begin(sheet)
    pulses = []
    for role, wanted in (
        ("command_open", True),
        ("command_stop", False),
        ("command_open", True),
        ("command_close", False),
    ):
        pulses.append((yield from _pulse(role, wanted=wanted)))
    yield Note("; ".join(f"{pulse.role}: {pulse.words}" for pulse in pulses))
    return PulsesSeen(_worst_of_each(pulses))


_COMMANDS = ("command_open", "command_stop", "command_close")


def _begin(sheet: Sheet) -> Begin:
    return Begin(
        test="I2 command pulses",
        commands=tuple(CommandValue(role) for role in _COMMANDS),
        safe_end=SafeEnd.STOP,
        safe_command=CommandValue("command_stop"),
        guards={"nothing may move in control": _nothing_moves},
        roles=tuple(role for role in WATCHED if sheet.has(role)),
        longest_s=LONGEST_S,
    )


def _nothing_moves(readings: Readings) -> Tripped | None:
    travel, pressure = readings.value("travel"), readings.value("cylinder_pressure")
    if travel is not None and MOST_TRAVEL < travel < 1 - MOST_TRAVEL:
        return Tripped(f"travel reads {travel * 100:.1f} %: the valve is moving in control")
    if pressure is not None and pressure > MOST_PRESSURE_PA:
        return Tripped(f"pressure reads {pressure / 1e5:.1f} bar in control: the motor supply is not off")
    return None


def _pulse(role: str, *, wanted: bool) -> Generator[Request, Reply, PulseSeen]:
    sent = yield Command(role)
    if not isinstance(sent, Sent) or sent.outcome is Outcome.REFUSED:
        reason = sent.reason if isinstance(sent, Sent) else ""
        return PulseSeen(role, Pulsed.REFUSED, f"refused: {reason}")
    if (yield from _contactor_becomes(sent.at_ns, wanted=wanted)):
        return PulseSeen(role, Pulsed.PROVED, f"motor contactor {'closed' if wanted else 'opened'}")
    return PulseSeen(role, Pulsed.NOT_SEEN, f"motor contactor did not {'close' if wanted else 'open'}")


def _contactor_becomes(from_ns: int, *, wanted: bool) -> Steps:
    while True:
        seen = yield Watch()
        if isinstance(seen, Readings):
            motor = seen["motor_running"]
            if motor.at_ns - motor.half_width_ns > from_ns and motor.is_true is wanted:
                return True
        if isinstance(seen, Readings | Silence) and seen.at_ns - from_ns > SEEN_WITHIN_S * 1e9:
            return False


def _worst_of_each(pulses: list[PulseSeen]) -> tuple[PulseSeen, ...]:
    worst: dict[str, PulseSeen] = {}
    for pulse in pulses:
        if pulse.role not in worst or pulse.pulsed is not Pulsed.PROVED:
            worst[pulse.role] = pulse
    return tuple(worst.values())

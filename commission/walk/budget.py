"""
The movement budget: what is left to move with, on one line, and whether a movement could still be brought back.

Motor starts are those that were seen, whoever caused them; a start before the laptop looked is not among them. Pulses
with the motor locked off turn nothing and are left out.
"""

from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache

import msgspec

from commission.analysis.restarts import Window, starts_in_window
from commission.checklist import Step
from commission.checklist.model import PULSE
from commission.engineering.same_sheet import SameSheet
from commission.engineering.stored import emergency
from commission.engineering.unit import Unit
from commission.job.sequence import Happening
from commission.job.state import Job
from commission.walk import permit
from commission.walk.refusal import Refusal

MOTOR = "motor_running"
STROKES = frozenset({"full_stroke", "span"})
"""Procedures that leave the valve somewhere else; a partial stroke has a sum and pre-checks of its own (R22)."""

_MINUTE_S, _HOUR_S = 60.0, 3600.0


class Budget(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is left.

    Args:
        starts: Motor starts in the unit's window; None where the unit does not show its motor.

        allowed: How many the unit allows in it.

        window_s: Its length.

        run_limit_s: Longest the motor may run at a time.

        motor_s: How long the motor was seen running in this job.

        stored_strokes: Strokes that the accumulator makes from cut-in with the pump off; None where it drives none.

        left_ah: Of the usable charge of a full battery, less what the motor was seen to take; None without one.

        permit_min: Minutes of the permit; None where none is recorded.
    """

    starts: Window | None
    allowed: int
    window_s: float
    run_limit_s: float
    motor_s: float
    stored_strokes: int | None
    left_ah: float | None
    permit_min: int | None

    @property
    def line(self) -> str:
        """The budget as a person reads it."""
        return "; ".join(self._parts())

    def _parts(self) -> Iterable[str]:
        if self.starts is not None:
            wait = f", next in {_minutes(self.starts.wait_s)} min" if self.starts.wait_s else ""
            yield f"{self.starts.left} of {self.allowed} starts left in {self.window_s / _MINUTE_S:g} min{wait}"
        yield f"motor {self.run_limit_s:g} s a run, {self.motor_s:.0f} s so far"
        if self.stored_strokes is not None:
            yield f"{self.stored_strokes} stored stroke{'' if self.stored_strokes == 1 else 's'}"
        if self.left_ah is not None:
            yield f"{self.left_ah:.0f} Ah of a full battery"
        if self.permit_min is None:
            yield "no permit"
        else:
            yield f"permit {self.permit_min} min" if self.permit_min >= 0 else "permit ended"


def budget(job: Job, now: datetime) -> Budget:
    """
    What is left to move with.

    Args:
        job: Where the visit stands.

        now: UTC, as the visit lives it.
    """
    supply = job.sheet.supply
    allowed, window_s = _starts_setting(job)
    motor_s = _running_s(job)
    usable_ah = (supply.battery_ah or 0.0) * (supply.depth_of_discharge or 1.0) * (supply.cold_factor or 1.0)
    return Budget(
        starts=_starts(job, now),
        allowed=allowed,
        window_s=window_s,
        run_limit_s=_setting(job, "run_limit", job.sheet.protections.run_limit_s),
        motor_s=motor_s,
        stored_strokes=_stored(SameSheet(job.sheet)),
        left_ah=usable_ah - (supply.running_a or 0.0) * motor_s / _HOUR_S if supply.battery_ah else None,
        permit_min=permit.minutes_left(job, now),
    )


def refusal(job: Job, step: Step, now: datetime) -> Refusal | None:
    """Why a stroke of this step could not be brought back: the unit would refuse the start. None where it could."""
    if not any(use.name in STROKES for use in step.procedures):
        return None
    starts = _starts(job, now)
    if starts is None or starts.left:
        return None
    return Refusal(
        f"All {starts.count} motor starts of the unit's window are used: what moves now could not be brought back",
        f"Wait {_minutes(starts.wait_s)} min, with the motor resting",
        wait_s=starts.wait_s,
    )


def _starts(job: Job, now: datetime) -> Window | None:
    """Motor starts in the unit's window; None where the unit does not show its motor."""
    if not job.sheet.has(MOTOR):
        return None
    allowed, window_s = _starts_setting(job)
    return starts_in_window(_starts_s(job), now.timestamp(), window_s, allowed)


def _starts_setting(job: Job) -> tuple[int, float]:
    """How many starts in how many seconds, as read from the unit, else as the sheet has it."""
    sheet = job.sheet.protections
    window_s = _setting(job, "starts_window", sheet.starts_window_min * _MINUTE_S)
    return int(_setting(job, "starts_allowed", sheet.starts_allowed)), window_s


def _setting(job: Job, role: str, otherwise: float) -> float:
    return otherwise if job.surveyed is None else job.surveyed.values.get(role, otherwise)


def _minutes(seconds: float) -> int:
    return -int(-seconds // _MINUTE_S)


def _motor(job: Job) -> list[Happening]:
    """Changes of the motor's contactor that turned it."""
    return [
        one
        for one in job.sequence
        if one.role == MOTOR and (one.run not in job.runs or job.runs[one.run].begun.procedure != PULSE)
    ]


def _starts_s(job: Job) -> list[float]:
    return [_seconds(one) for one in _motor(job) if one.value]


def _running_s(job: Job) -> float:
    total_s, began_s = 0.0, None
    for one in _motor(job):
        if one.value:
            began_s = _seconds(one)
        elif began_s is not None:
            total_s, began_s = total_s + _seconds(one) - began_s, None
    return total_s


def _seconds(one: Happening) -> float:
    return datetime.fromisoformat(one.at_utc).timestamp()


@lru_cache(maxsize=4)
def _stored(same: SameSheet) -> int | None:
    try:
        unit = Unit(same.sheet)
        found = emergency(unit, unit.cut_in_pa)
    except (ValueError, ArithmeticError):
        return None
    return None if found is None else found.strokes

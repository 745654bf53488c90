"""
Abort conditions of a stroke: each looks at the readings of one sample and says what is wrong, or nothing.

A guard needs its points. Where the unit has none, the guard is not installed, and that is said.
"""

from collections.abc import Callable, Iterator

import msgspec

from commission.procedures.requests import Guard, Tripped
from commission.sheet import ROLES, End, Sheet
from commission.sheet.decode import Readings
from commission.sheet.roles import RoleKind

WRONG_WAY_BY = 0.05
"""Travel that goes back by more than 5 % of full travel, in two samples running, goes the wrong way."""

OVER_RELIEF = 1.1
"""Pressure above 1.1 times the relief setting: the relief does not hold it (common practice, no source)."""

TRIP_ALARMS = ("alarm_high_trip", "alarm_low_trip", "alarm_not_automatic")
"""The valve is somebody else's: nothing may be sent (safety rule R10)."""

STOPPING_ALARMS = ("alarm_run_time", "alarm_starts", "alarm_fluid", "alarm_supply", "alarm_oil_cold")


class GuardSet(msgspec.Struct, frozen=True):
    """
    The guards of one test.

    Args:
        guards: By name; they run in this order.

        missing: Sentences, one for each guard that this unit has no point for.

        roles: The points they need.
    """

    guards: dict[str, Guard]
    missing: tuple[str, ...]
    roles: tuple[str, ...]


def stroke_guards(sheet: Sheet, direction: End) -> GuardSet:
    """The guards of a full stroke to this end, as far as the unit has points for them."""
    guards: dict[str, Guard] = {}
    missing: list[str] = []
    roles: list[str] = []
    for name, needed, make in _stroke_guards(sheet, direction):
        if sheet.has(*needed):
            guards[name] = make()
            roles.extend(needed)
        else:
            labels = " and ".join(ROLES[role].label for role in needed if not sheet.has(role))
            missing.append(f"guard '{name}' is not installed: the unit has no point for {labels}")
    return GuardSet(guards, tuple(missing), tuple(dict.fromkeys(roles)))


def _stroke_guards(sheet: Sheet, direction: End) -> Iterator[tuple[str, tuple[str, ...], Callable[[], Guard]]]:
    yield "ESD", ("esd_healthy",), lambda: bit_is("esd_healthy", wanted=True, taken_over=True)
    yield "selector", ("remote",), lambda: bit_is("remote", wanted=True, taken_over=True)
    yield "automatic", ("automatic",), lambda: bit_is("automatic", wanted=True, taken_over=True)
    for role in (*TRIP_ALARMS, *STOPPING_ALARMS):
        if sheet.has(role):
            yield (
                ROLES[role].label,
                (role,),
                lambda role=role: bit_is(  # type: ignore[misc]  # default binds the loop
                    role, wanted=False, taken_over=role in TRIP_ALARMS
                ),
            )
    yield "fluid", ("low_fluid",), lambda: bit_is("low_fluid", wanted=False)
    relief_pa = sheet.pump.relief_bar * 1e5
    yield "pressure", ("cylinder_pressure",), lambda: PressureBelow("cylinder_pressure", relief_pa * OVER_RELIEF)
    yield "direction", ("travel",), lambda: WrongWay(direction)
    yield "motor run", ("motor_running",), lambda: MotorRun(sheet.protections.run_limit_s)


def bit_is(role: str, *, wanted: bool, taken_over: bool = False) -> Guard:
    """
    A guard that trips when a bit is not as wanted. A sample that does not read the bit says nothing.

    Args:
        role: A bit.

        wanted: The value that is in order.

        taken_over: Whether the valve is somebody else's once it trips.

    Raises:
        ValueError: the role is not a bit.
    """
    known = ROLES[role]
    if known.kind is not RoleKind.BIT:
        raise ValueError(f"{role} is not a bit")
    reason = f"{known.label}: {known.false_word if wanted else known.true_word}"

    def guard(readings: Readings) -> Tripped | None:
        value = readings.bit(role)
        return None if value is None or value is wanted else Tripped(reason, taken_over)

    return guard


class PressureBelow:
    """
    Trips when a pressure is above its limit.

    Args:
        role: A pressure.

        limit_pa: The limit, gauge pressure in pascal.
    """

    def __init__(self, role: str, limit_pa: float) -> None:
        self._role = role
        self._limit_pa = limit_pa

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        value = readings.value(self._role)
        if value is None or value <= self._limit_pa:
            return None
        return Tripped(f"{ROLES[self._role].label} {value / 1e5:.1f} bar, above {self._limit_pa / 1e5:.1f} bar")

    def near(self, readings: Readings) -> str:
        """How near the limit is, as `53 of 154 bar`; empty where it is not read."""
        value = readings.value(self._role)
        return "" if value is None else f"{round(value / 1e5)} of {self._limit_pa / 1e5:.0f} bar"  # never -0


class WrongWay:
    """
    Trips when travel goes back from the farthest it has come, in two samples running; one alone may be noise.

    Args:
        direction: The end that the stroke goes to.
    """

    def __init__(self, direction: End) -> None:
        self._sign = 1.0 if direction is End.OPEN else -1.0
        self._words = direction.value
        self._farthest: float | None = None
        self._suspect = False

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        travel = readings.value("travel")
        if travel is None:
            return None
        progress = self._sign * travel
        if self._farthest is None or progress > self._farthest:
            self._farthest = progress
        back = self._farthest - progress > WRONG_WAY_BY
        was_suspect, self._suspect = self._suspect, back
        if back and was_suspect:
            return Tripped(f"travel goes back from the {self._words} end: {travel * 100:.1f} %")
        return None

    def near(self, readings: Readings) -> str:
        """How near the limit is, as `back 0.4 of 5 %`; empty where travel is not read."""
        travel = readings.value("travel")
        if travel is None or self._farthest is None:
            return ""
        back = max(0.0, self._farthest - self._sign * travel)
        return f"back {back * 100:.1f} of {WRONG_WAY_BY * 100:.0f} %"


class MotorRun:
    """
    Trips when the motor has run longer than the unit's own limit allows, so that its protection is not what stops it.

    Args:
        limit_s: Longest run, in seconds.
    """

    def __init__(self, limit_s: float) -> None:
        self._limit_s = limit_s
        self._since_ns: int | None = None

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        motor = readings.get("motor_running")
        if motor is None:
            return None
        if not motor.is_true:
            self._since_ns = None
            return None
        if self._since_ns is None:
            self._since_ns = motor.at_ns
        run_s = (motor.at_ns - self._since_ns) / 1e9
        if run_s <= self._limit_s:
            return None
        return Tripped(f"motor has run {run_s:.0f} s, limit {self._limit_s:.0f} s")

    def near(self, readings: Readings) -> str:
        """How near the limit is, as `12 of 240 s`; empty where the motor is not read."""
        motor = readings.get("motor_running")
        if motor is None:
            return ""
        run_s = 0.0 if self._since_ns is None else (motor.at_ns - self._since_ns) / 1e9
        return f"{run_s:.0f} of {self._limit_s:.0f} s"


def nearness(guard: Guard, readings: Readings) -> str:
    """How near a guard with a limit is to tripping, in words; empty for one that watches a bit."""
    near: Callable[[Readings], str] | None = getattr(guard, "near", None)
    return "" if near is None else near(readings)

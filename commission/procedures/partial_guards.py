"""
The twelve ways in which a partial stroke is aborted, as guards; 7 (silence) and 11 (stop key) are the
supervisor's own.

1 too far · 2 no motion · 3 target not reached in time · 4 pressure out of its limits · 5 motor current out of band ·
6 too fast · 8 selector, LOCAL, alarm · 9 return not begun in time · 10 end not regained in time · 12 line pressure.
After 8, and after any real demand, nothing is sent: the valve is somebody else's.
"""

from collections import deque
from collections.abc import Callable, Iterator
from enum import StrEnum

from commission.procedures.guards import OVER_RELIEF, GuardSet, PressureBelow, bit_is
from commission.procedures.partial_bounds import (
    breakaway_s,
    fastest,
    longest_back_s,
    longest_out_s,
    lowest_pressure_pa,
    over_travel,
)
from commission.procedures.partial_told import Told
from commission.procedures.requests import Guard, Tripped
from commission.sheet import ROLES, End, Sheet
from commission.sheet.decode import Reading, Readings
from commission.sheet.model import PartialStroke
from commission.sheet.roles import RoleKind

TOO_FAR, NO_MOTION, LATE_TARGET = "1 too far", "2 no motion", "3 target in time"
PRESSURE_LOW, PRESSURE_HIGH, CURRENT = "4 pressure, low", "4 pressure, high", "5 motor current"
TOO_FAST, LATE_RETURN, LATE_HOME = "6 too fast", "9 return in time", "10 end in time"
LINE = "12 line pressure"

FAILING = frozenset(
    {TOO_FAR, NO_MOTION, LATE_TARGET, PRESSURE_LOW, PRESSURE_HIGH, CURRENT, TOO_FAST, LATE_RETURN, LATE_HOME}
)
"""Aborts 1 to 6, 9 and 10 fail the stroke; the others only end it."""

MOVED = 0.005
"""Half a percent of travel is motion: more than noise and slack make (common practice, no source)."""

RETURN_BEGINS_S = 5.0
_SPEED_OVER_S = 0.5
_TRAVEL_NOISE = 0.002
_CURRENT_TIMES, _CURRENT_S = 1.5, 1.0


class Phase(StrEnum):
    """Where the partial stroke stands."""

    BEFORE = "before"
    OUT = "out"
    BACK = "back"
    HOME = "home"


class Progress:
    """
    How far the stroke has come; the procedure says so, the guards look.

    Args:
        start_end: The end it leaves.

        target: How far it goes now, fraction of travel.
    """

    def __init__(self, start_end: End, target: float) -> None:
        self.start_end = start_end
        self.target = target
        self.phase = Phase.BEFORE
        self.since_ns = 0
        self.line_pa: float | None = None

    def enter(self, phase: Phase, at_ns: int) -> None:
        """A new phase, from this moment of unit time."""
        self.phase, self.since_ns = phase, at_ns

    def away(self, readings: Readings) -> float | None:
        """Distance from the start end, fraction of travel."""
        travel = readings.value("travel")
        if travel is None:
            return None
        return 1.0 - travel if self.start_end is End.OPEN else travel

    def lasts_s(self, readings: Readings) -> float:
        """For how long the phase lasts."""
        return (readings.at_ns - self.since_ns) / 1e9


def partial_guards(sheet: Sheet, plan: PartialStroke, told: Told, progress: Progress) -> GuardSet:
    """The guards of a partial stroke, as far as the unit has points for them."""
    guards: dict[str, Guard] = {}
    missing: list[str] = []
    roles: list[str] = []
    for name, needed, make in (*_taken_over(sheet), *_limits(sheet, plan, told, progress)):
        if sheet.has(*needed):
            guards[name] = make()
            roles.extend(needed)
        else:
            labels = " and ".join(ROLES[role].label for role in needed if not sheet.has(role))
            missing.append(f"guard '{name}' is not installed: the unit has no point for {labels}")
    return GuardSet(guards, tuple(missing), tuple(dict.fromkeys(roles)))


Listed = tuple[str, tuple[str, ...], Callable[[], Guard]]


def _taken_over(sheet: Sheet) -> Iterator[Listed]:
    """
    Number 8 and any real demand: nothing is sent any more. The relay, which every alarm drops, is looked at last.

    That holds where the laptop turns the stroke round too, although the unit then goes on to its fail position on our
    own command: an alarm may be the first sign of a demand, and nobody drives a valve away from its fail position
    against one (safety rule R22).
    """
    wanted = {"esd_healthy": True, "remote": True, "automatic": True, "low_fluid": False}
    alarms = {
        point.role: False
        for point in sheet.points
        if point.role.startswith("alarm_") and ROLES[point.role].kind is RoleKind.BIT and point.role != "alarm_relay"
    }
    for role, good in {**wanted, **alarms, "alarm_relay": True}.items():
        name = f"8 {ROLES[role].label}"
        yield name, (role,), lambda role=role, good=good: bit_is(role, wanted=good, taken_over=True)  # type: ignore[misc]  # defaults bind the loop


def _limits(sheet: Sheet, plan: PartialStroke, told: Told, progress: Progress) -> Iterator[Listed]:
    too_far = over_travel(plan) if told.turn_at_pct is None else plan.target_pct / 100
    yield TOO_FAR, ("travel",), lambda: TooFar(progress, too_far)
    yield NO_MOTION, ("travel",), lambda: NoMotion(progress, breakaway_s(plan, told))
    yield (
        LATE_TARGET,
        ("travel",),
        lambda: Late(progress, Phase.OUT, longest_out_s(sheet, plan, told), "target not reached"),
    )
    floor_pa = lowest_pressure_pa(told)
    yield PRESSURE_LOW, ("cylinder_pressure",), lambda: PressureAbove(progress, floor_pa)
    ceiling_pa = sheet.pump.relief_bar * 1e5 * OVER_RELIEF
    yield PRESSURE_HIGH, ("cylinder_pressure",), lambda: PressureBelow("cylinder_pressure", ceiling_pa)
    if sheet.supply.running_a is not None:
        most_a = sheet.supply.running_a * _CURRENT_TIMES
        yield CURRENT, ("motor_current",), lambda: TooMuchCurrent(most_a)
    yield TOO_FAST, ("travel",), lambda: TooFast(progress, fastest(plan, told))
    yield LATE_RETURN, ("travel",), lambda: ReturnNotBegun(progress, RETURN_BEGINS_S)
    words = "not back in time: VALVE UNAVAILABLE, tell the controller now"
    yield LATE_HOME, ("travel",), lambda: Late(progress, Phase.BACK, longest_back_s(plan), words)
    if told.line_change_bar is not None:
        change_pa = told.line_change_bar * 1e5
        yield LINE, ("pipeline_pressure",), lambda: LineChanged(progress, change_pa)


class TooFar:
    """1: trips when travel is beyond its limit."""

    def __init__(self, progress: Progress, limit: float) -> None:
        self._progress, self._limit = progress, limit

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        away = self._progress.away(readings)
        if away is None or away <= self._limit:
            return None
        return Tripped(f"travel {away * 100:.1f} % from its end, limit {self._limit * 100:.1f} %")

    def near(self, readings: Readings) -> str:
        """How near the limit is."""
        away = self._progress.away(readings)
        return "" if away is None else f"{max(0.0, away) * 100:.1f} of {self._limit * 100:.1f} %"


class NoMotion:
    """2: trips when nothing has moved so long after the command."""

    def __init__(self, progress: Progress, limit_s: float) -> None:
        self._progress, self._limit_s = progress, limit_s

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        away = self._progress.away(readings)
        if self._progress.phase is not Phase.OUT or away is None or away > MOVED:
            return None
        if self._progress.lasts_s(readings) <= self._limit_s:
            return None
        return Tripped(f"no motion within {self._limit_s:.1f} s of the command")

    def near(self, readings: Readings) -> str:
        """How near the limit is."""
        away = self._progress.away(readings)
        if self._progress.phase is not Phase.OUT or away is None or away > MOVED:
            return ""
        return f"{self._progress.lasts_s(readings):.1f} of {self._limit_s:.1f} s"


class Late:
    """3 and 10: trips when a phase lasts too long."""

    def __init__(self, progress: Progress, phase: Phase, limit_s: float, words: str) -> None:
        self._progress, self._phase, self._limit_s, self._words = progress, phase, limit_s, words

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        if self._progress.phase is not self._phase or self._progress.lasts_s(readings) <= self._limit_s:
            return None
        return Tripped(f"{self._words} ({self._limit_s:.1f} s)")

    def near(self, readings: Readings) -> str:
        """How near the limit is."""
        if self._progress.phase is not self._phase:
            return ""
        return f"{self._progress.lasts_s(readings):.0f} of {self._limit_s:.0f} s"


class PressureAbove:
    """4: trips when the cylinder's pressure is below its floor while the valve is out."""

    def __init__(self, progress: Progress, floor_pa: float) -> None:
        self._progress, self._floor_pa = progress, floor_pa

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        value = readings.value("cylinder_pressure")
        if self._progress.phase not in (Phase.OUT, Phase.BACK) or value is None or value >= self._floor_pa:
            return None
        return Tripped(
            f"{ROLES['cylinder_pressure'].label} {value / 1e5:.1f} bar, below {self._floor_pa / 1e5:.1f} bar"
        )

    def near(self, readings: Readings) -> str:
        """How near the floor is."""
        value = readings.value("cylinder_pressure")
        return "" if value is None else f"{value / 1e5:.0f}, not below {self._floor_pa / 1e5:.0f} bar"


class TooMuchCurrent:
    """5: trips when the motor takes more than its band for longer than it needs to start."""

    def __init__(self, most_a: float) -> None:
        self._most_a = most_a
        self._since_ns: int | None = None

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        current = readings.get("motor_current")
        if current is None or current.value <= self._most_a:
            self._since_ns = None
            return None
        self._since_ns = current.at_ns if self._since_ns is None else self._since_ns
        if current.at_ns - self._since_ns <= _CURRENT_S * 1e9:
            return None
        return Tripped(f"motor current {current.value:.1f} A, above {self._most_a:.1f} A")

    def near(self, readings: Readings) -> str:
        """How near the limit is."""
        current = readings.value("motor_current")
        return "" if current is None else f"{current:.0f} of {self._most_a:.0f} A"


class TooFast:
    """
    6: trips when the valve goes out faster than is tolerated, over half a second.

    What noise of travel and the unsure times of the readings could have made of a slower one is taken off first.
    """

    def __init__(self, progress: Progress, limit: float) -> None:
        self._progress, self._limit = progress, limit
        self._places: deque[tuple[Reading, float]] = deque()

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        speed = self._speed(readings)
        if speed is None or speed <= self._limit:
            return None
        return Tripped(f"going out at {speed * 100:.2f} %/s, limit {self._limit * 100:.2f} %/s")

    def near(self, _readings: Readings) -> str:
        """How near the limit is."""
        if len(self._places) < 2:
            return ""
        (begun, first), (now, last) = self._places[0], self._places[-1]
        lasts_s = (now.at_ns - begun.at_ns) / 1e9
        speed = 0.0 if lasts_s == 0 else max(0.0, (last - first) / lasts_s)
        return f"{speed * 100:.1f} of {self._limit * 100:.1f} %/s"

    def _speed(self, readings: Readings) -> float | None:
        away, now = self._progress.away(readings), readings.get("travel")
        if self._progress.phase is not Phase.OUT or away is None or now is None:
            self._places.clear()
            return None
        self._places.append((now, away))
        while len(self._places) > 2 and self._places[1][0].at_ns <= now.at_ns - _SPEED_OVER_S * 1e9:
            self._places.popleft()
        begun, first = self._places[0]
        lasts_s = (now.at_ns - begun.at_ns) / 1e9
        unsure_s = (now.half_width_ns + begun.half_width_ns) / 1e9
        return None if lasts_s < _SPEED_OVER_S else (away - first - _TRAVEL_NOISE) / (lasts_s + unsure_s)


class ReturnNotBegun:
    """9: trips when the valve stays out past its target, with neither motor nor travel on the way back."""

    def __init__(self, progress: Progress, limit_s: float) -> None:
        self._progress, self._limit_s = progress, limit_s
        self._since_ns: int | None = None
        self._farthest = 0.0

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        away = self._progress.away(readings)
        if away is None or self._progress.phase not in (Phase.OUT, Phase.BACK):
            return None
        self._farthest = max(self._farthest, away)
        returning = bool(readings.bit("motor_running")) or away < self._farthest - MOVED
        if away < self._progress.target - MOVED or returning:
            self._since_ns = None
            return None
        self._since_ns = readings.at_ns if self._since_ns is None else self._since_ns
        if readings.at_ns - self._since_ns <= self._limit_s * 1e9:
            return None
        return Tripped(f"return not begun within {self._limit_s:.1f} s of the target")


class LineChanged:
    """12: trips when the line pressure has changed by more than was agreed."""

    def __init__(self, progress: Progress, change_pa: float) -> None:
        self._progress, self._change_pa = progress, change_pa

    def __call__(self, readings: Readings) -> Tripped | None:
        """The verdict on one sample."""
        value, before = readings.value("pipeline_pressure"), self._progress.line_pa
        if value is None or before is None or abs(value - before) <= self._change_pa:
            return None
        change = (value - before) / 1e5
        return Tripped(f"line pressure changed by {change:+.1f} bar, agreed {self._change_pa / 1e5:.1f} bar")

    def near(self, readings: Readings) -> str:
        """How near the limit is."""
        value, before = readings.value("pipeline_pressure"), self._progress.line_pa
        if value is None or before is None:
            return ""
        return f"{abs(value - before) / 1e5:.1f} of {self._change_pa / 1e5:.1f} bar"

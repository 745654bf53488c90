"""
Cylinder, mechanism, spring and friction: which cylinder pressure holds the rod where it is.

Rod travel x runs from 0, where the spring has the valve, to the stroke, where oil has it. In a slotted arm, with
t = x/R - 1, the arm's angle is 45° + atan t and its rate dx/dθ = R(1 + t²), by differentiation of
x = R(1 + tan(θ - 45°)): twice as long at the ends as in the middle. A rack turns its gear by x/R; a direct drive is
the stem itself. By virtual work a torque T at the stem is a force T / (η dx/dθ) at the rod.

Friction is what the sheet says at the design pressure difference; without any, its empty-line share of that.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from commission.practice.condition import Condition
from commission.sheet import Sheet

PA_PER_BAR = 1e5

_GALL_HALF_PCT = 4.0
_SHEARED_SHARE = 0.1
"""What is left of the friction when the valve no longer hangs on the stem: seals and guides."""


class NotServed(ValueError):
    """The sheet describes a unit that the practice unit cannot play."""


class Geometry:
    """
    From rod to valve, and back.

    Args:
        sheet: Mechanism, stroke and full travel.

        opens: Whether the valve opens as the rod moves from 0 to the stroke.

    Raises:
        NotServed: the sheet leaves out the arm's or the gear's radius.
    """

    def __init__(self, sheet: Sheet, *, opens: bool) -> None:
        actuator = sheet.actuator
        self.stroke_m = actuator.stroke_mm / 1000
        self._opens = opens
        self._slotted = actuator.mechanism == "slotted arm"
        radius_mm = {
            "slotted arm": actuator.arm_radius_mm,
            "rack and gear": actuator.gear_radius_mm,
            "direct": 1000.0,
        }[actuator.mechanism]
        if radius_mm is None:
            wanted = "arm_radius_mm" if self._slotted else "gear_radius_mm"
            raise NotServed(f"{sheet.identity.tag}: the sheet needs {wanted}")
        self.radius_m = radius_mm / 1000
        self._full_travel_deg = sheet.valve.full_travel

    def travel_pct(self, rod_m: float) -> float:
        """Travel of the valve, 0 closed to 100 open, at a rod position."""
        if self._slotted:
            degrees = 45.0 + math.degrees(math.atan(rod_m / self.radius_m - 1.0))
            moved_pct = degrees / self._full_travel_deg * 100.0
        else:
            moved_pct = rod_m / self.stroke_m * 100.0
        return moved_pct if self._opens else 100.0 - moved_pct

    def place(self, rod_m: float) -> tuple[float, float]:
        """Travel and arm at a rod position, which are wanted together thousands of times in a second of unit time."""
        if not self._slotted:
            return self.travel_pct(rod_m), self.radius_m
        t = rod_m / self.radius_m - 1.0
        moved_pct = (45.0 + math.degrees(math.atan(t))) / self._full_travel_deg * 100.0
        return (moved_pct if self._opens else 100.0 - moved_pct), self.radius_m * (1.0 + t * t)

    def rod_m(self, travel_pct: float) -> float:
        """Rod position at a travel of the valve."""
        moved_pct = travel_pct if self._opens else 100.0 - travel_pct
        if not self._slotted:
            return moved_pct / 100.0 * self.stroke_m
        degrees = moved_pct / 100.0 * self._full_travel_deg
        return self.radius_m * (1.0 + math.tan(math.radians(degrees - 45.0)))

    def arm_m(self, rod_m: float) -> float:
        """Metres of rod a radian of the stem; 1 where the rod is the stem."""
        if not self._slotted:
            return self.radius_m
        t = rod_m / self.radius_m - 1.0
        return self.radius_m * (1.0 + t * t)


class Friction:
    """
    What the valve and its packing hold against the rod.

    Args:
        sheet: Load table and empty-line share.

        condition: Planted findings.

    Raises:
        NotServed: the sheet has no load table.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        valve = sheet.valve
        if not valve.load:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs the valve's load table")
        self._design_bar = valve.design_difference_bar
        self._empty_share = valve.empty_line_share or 1.0
        self._factor = condition.friction_factor * (_SHEARED_SHARE if condition.stem_sheared else 1.0)
        self.difference_bar = condition.difference_bar
        self._gall = (condition.gall_factor - 1.0, condition.gall_at_pct)
        self._at_rest = 1.0 + condition.stiction_share
        self._load_pct = [load.travel_pct for load in valve.load]
        self._inner_pct = self._load_pct[1:-1]
        self._to_open = self._lines([load.to_open for load in valve.load])
        self._to_close = self._lines([load.to_close for load in valve.load])
        half_pct = _GALL_HALF_PCT * (condition.gall_factor != 1.0)
        self.kinks_pct = (*self._load_pct, *(condition.gall_at_pct + half_pct * side for side in (-1, 0, 1)))

    def load(self, travel_pct: float, *, opening: bool, moving: bool = True) -> float:
        """Torque or thrust at the stem, against one direction of motion; more before a motion begins."""
        lines = self._to_open if opening else self._to_close
        begin_pct, begins, rise = lines[bisect_right(self._inner_pct, travel_pct)]
        load = begins + (travel_pct - begin_pct) * rise
        more, at_pct = self._gall
        if more:
            load *= 1.0 + more * max(0.0, 1.0 - abs(travel_pct - at_pct) / _GALL_HALF_PCT)
        return load * self._share * (1.0 if moving else self._at_rest)

    @property
    def difference_bar(self) -> float:
        """Pressure difference across the valve."""
        return self._difference_bar

    @difference_bar.setter
    def difference_bar(self, difference_bar: float) -> None:
        """Set it; the share of the friction that it makes is wanted far oftener."""
        self._difference_bar = difference_bar
        loaded = 0.0 if self._design_bar is None else difference_bar / self._design_bar
        self._share = (self._empty_share + (1.0 - self._empty_share) * loaded) * self._factor

    def _lines(self, loads: Sequence[float]) -> tuple[tuple[float, float, float], ...]:
        """Of each piece of the table where it begins, the load there, and its rise."""
        points = zip(self._load_pct, loads, strict=True)
        return tuple(
            (begin_pct, begins, (ends - begins) / (end_pct - begin_pct))
            for (begin_pct, begins), (end_pct, ends) in pairwise(points)
        )


class Mechanism:
    """
    Cylinder, mechanism, spring and valve of one spring-return unit.

    Args:
        sheet: A unit whose oil works against a spring.

        condition: Its planted findings.

    Raises:
        NotServed: the sheet describes another kind of unit, or leaves out what the motion follows from.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        actuator, spring = sheet.actuator, sheet.spring
        if spring is None:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs the spring's force at both ends")
        self.opens = actuator.pressure_opens
        self.geometry = Geometry(sheet, opens=self.opens)
        self.friction = Friction(sheet, condition)
        self.piston_m2 = math.pi / 4 * (actuator.bore_mm / 1000) ** 2
        self.stroke_m = self.geometry.stroke_m
        self._efficiency = actuator.efficiency
        self._sticks_by = condition.breakaway_factor
        self.stuck = condition.breakaway_factor != 1.0
        self.kinks_m = tuple(sorted(self.geometry.rod_m(pct) for pct in self.friction.kinks_pct if 0.0 < pct < 100.0))
        ends_n = (spring.force_at_closed_n, spring.force_at_open_n)
        at_rest_n, pressed_n = ends_n if self.opens else reversed(ends_n)
        self._spring_rest_n = at_rest_n * condition.spring_factor
        self._spring_pressed_n = pressed_n * condition.spring_factor

    def travel_pct(self, rod_m: float) -> float:
        """Travel of the valve, 0 closed to 100 open, at a rod position."""
        return self.geometry.travel_pct(rod_m)

    def rod_m(self, travel_pct: float) -> float:
        """Rod position at a travel of the valve."""
        return self.geometry.rod_m(travel_pct)

    def arm_m(self, rod_m: float) -> float:
        """Metres of rod a radian of the stem; 1 where the rod is the stem."""
        return self.geometry.arm_m(rod_m)

    def spring_n(self, rod_m: float) -> float:
        """Force of the spring."""
        return self._spring_rest_n + (self._spring_pressed_n - self._spring_rest_n) * rod_m / self.stroke_m

    def spring_j(self, rod_m: float) -> float:
        """Energy that the spring took in from its rest end."""
        return (self._spring_rest_n + self.spring_n(rod_m)) / 2 * rod_m

    def friction_n(self, rod_m: float, *, pressing: bool, moving: bool = True) -> float:
        """Friction at the rod against oil that presses, or against the spring."""
        travel_pct, arm_m = self.geometry.place(rod_m)
        return self.friction.load(travel_pct, opening=pressing is self.opens, moving=moving) / arm_m / self._efficiency

    def pressing_pa(self, rod_m: float, *, moving: bool = True) -> float:
        """Gauge pressure above which oil moves the rod from here, against spring and friction."""
        return (self.spring_n(rod_m) + self.friction_n(rod_m, pressing=True, moving=moving)) / self.piston_m2

    def yielding_pa(self, rod_m: float, *, moving: bool = True) -> float:
        """Gauge pressure below which the spring moves the rod back from here; below zero it never does."""
        friction_n = self.friction_n(rod_m, pressing=False, moving=moving)
        if self.stuck and rod_m >= self.stroke_m:
            friction_n *= self._sticks_by
        return (self.spring_n(rod_m) - friction_n) / self.piston_m2

    def feel(self, rod_m: float, pressure_pa: float) -> None:
        """Break a valve away that sticks where the oil holds it, once the spring overcomes more than its friction."""
        if self.stuck and rod_m >= self.stroke_m and pressure_pa < self.yielding_pa(rod_m):
            self.stuck = False

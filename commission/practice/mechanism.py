"""
Slotted arm, spring and friction: which cylinder pressure holds the rod where it is.

Rod travel x runs from 0 (closed) to the stroke (open). With t = x/R - 1 the arm's angle from closed is 45° + atan t and
its rate dx/dθ = R(1 + t²), by differentiation of x = R(1 + tan(θ - 45°)): twice as long at the ends as in the middle.
By virtual work a torque T at the stem is a force T / (η dx/dθ) at the rod.
"""

import math
from bisect import bisect_right

from commission.practice.condition import Condition
from commission.sheet import Sheet

PA_PER_BAR = 1e5


class NotServed(ValueError):
    """The sheet describes a unit that the practice unit cannot play."""


class Mechanism:
    """
    Cylinder, slotted arm, spring and valve of one unit.

    Args:
        sheet: A spring-return unit with a slotted arm that pressure opens.

        condition: Its planted findings.

    Raises:
        NotServed: the sheet describes another kind of unit, or leaves out what the motion follows from.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        actuator, spring = sheet.actuator, sheet.spring
        if actuator.mechanism != "slotted arm" or not actuator.pressure_opens or spring is None:
            raise NotServed(
                f"{sheet.identity.tag}: only a spring-return slotted-arm unit that pressure opens is served"
            )
        if actuator.arm_radius_mm is None or not sheet.valve.load:
            raise NotServed(f"{sheet.identity.tag}: the sheet needs arm_radius_mm and the valve's load table")
        self.piston_m2 = math.pi / 4 * (actuator.bore_mm / 1000) ** 2
        self.stroke_m = actuator.stroke_mm / 1000
        self.radius_m = actuator.arm_radius_mm / 1000
        self._efficiency = actuator.efficiency
        self._full_travel_deg = sheet.valve.full_travel
        self._spring_closed_n = spring.force_at_closed_n * condition.spring_factor
        self._spring_open_n = spring.force_at_open_n * condition.spring_factor
        share = (sheet.valve.empty_line_share or 1.0) * condition.friction_factor
        self._sticks_by = condition.breakaway_factor
        self.stuck = condition.breakaway_factor != 1.0
        self._load_pct = [load.travel_pct for load in sheet.valve.load]
        self._to_open_nm = [load.to_open * share for load in sheet.valve.load]
        self._to_close_nm = [load.to_close * share for load in sheet.valve.load]

    def travel_pct(self, rod_m: float) -> float:
        """Travel of the valve, 0 closed to 100 open, at a rod position."""
        degrees = 45.0 + math.degrees(math.atan(rod_m / self.radius_m - 1.0))
        return degrees / self._full_travel_deg * 100.0

    def rod_m(self, travel_pct: float) -> float:
        """Rod position at a travel of the valve."""
        degrees = travel_pct / 100.0 * self._full_travel_deg
        return self.radius_m * (1.0 + math.tan(math.radians(degrees - 45.0)))

    def arm_m(self, rod_m: float) -> float:
        """Metres of rod a radian of the stem."""
        t = rod_m / self.radius_m - 1.0
        return self.radius_m * (1.0 + t * t)

    def spring_n(self, rod_m: float) -> float:
        """Force of the spring."""
        return self._spring_closed_n + (self._spring_open_n - self._spring_closed_n) * rod_m / self.stroke_m

    def opening_pa(self, rod_m: float) -> float:
        """Gauge pressure above which the valve opens from here."""
        return (self.spring_n(rod_m) + self._friction_n(self._to_open_nm, rod_m)) / self.piston_m2

    def closing_pa(self, rod_m: float) -> float:
        """Gauge pressure below which the spring closes from here; below zero it never does."""
        friction_n = self._friction_n(self._to_close_nm, rod_m)
        if self.stuck and rod_m >= self.stroke_m:
            friction_n *= self._sticks_by
        return (self.spring_n(rod_m) - friction_n) / self.piston_m2

    def feel(self, rod_m: float, pressure_pa: float) -> None:
        """Break a valve away that sticks at its open end, once the spring overcomes more than its friction."""
        if self.stuck and rod_m >= self.stroke_m and pressure_pa < self.closing_pa(rod_m):
            self.stuck = False

    def _friction_n(self, torques_nm: list[float], rod_m: float) -> float:
        pct = self.travel_pct(rod_m)
        index = min(max(bisect_right(self._load_pct, pct), 1), len(self._load_pct) - 1)
        left, right = self._load_pct[index - 1], self._load_pct[index]
        share = (pct - left) / (right - left)
        torque_nm = torques_nm[index - 1] + share * (torques_nm[index] - torques_nm[index - 1])
        return torque_nm / self.arm_m(rod_m) / self._efficiency

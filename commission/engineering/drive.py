"""
Forces and torques of one unit over its travel: cylinder, mechanism, spring and valve together.

Travel is a fraction, 0 closed and 1 open. Forces are at the rod; what the valve needs is torque (quarter-turn, N·m) or
thrust (linear, N) at the stem, as in the sheet.
"""

import math
from itertools import pairwise

import msgspec

from commission.engineering.cylinder import Cylinder
from commission.engineering.mechanism import Direct, RackAndGear, SlottedArm
from commission.sheet.model import Action, End, LoadAt, Sheet

PA_PER_BAR = 1e5
_PHASES = ("break", "run", "end")


class Margin(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is there over what is needed at one place.

    Args:
        travel: Where.

        towards: The end that the valve moves to.

        by: `pressure` or `spring`.

        phase: `break` at the start, `end` at the end, `run` between.

        available: Torque or thrust at the stem.

        required: By the valve.
    """

    travel: float
    towards: End
    by: str
    phase: str
    available: float
    required: float

    @property
    def factor(self) -> float:
        """Available over required; infinite where nothing is required."""
        return self.available / self.required if self.required > 0 else math.inf


class Drive(msgspec.Struct, frozen=True, kw_only=True):
    """
    The driving side of a unit.

    Args:
        cylinder: The cylinder.

        mechanism: Between rod and stem.

        efficiency: Of the mechanism.

        spring_n: Spring force at closed and at open; None without a spring.

        spring_tolerance: By what share of it a spring of this drawing may be weaker or stronger.

        loads: What the valve needs, in order of travel; a polygon between the points.

        full_bore_opens: Whether oil on the full bore opens the valve.

        double_acting: Whether oil drives both ways.
    """

    cylinder: Cylinder
    mechanism: SlottedArm | RackAndGear | Direct
    efficiency: float
    spring_n: tuple[float, float] | None
    spring_tolerance: float
    loads: tuple[LoadAt, ...]
    full_bore_opens: bool
    double_acting: bool

    @property
    def powered_ends(self) -> tuple[End, ...]:
        """The ends that oil drives to."""
        if self.double_acting:
            return (End.OPEN, End.CLOSED)
        return (End.OPEN,) if self.full_bore_opens else (End.CLOSED,)

    @property
    def spring_end(self) -> End | None:
        """The end that the spring drives to."""
        if self.spring_n is None:
            return None
        return End.CLOSED if self.full_bore_opens else End.OPEN

    @property
    def as_drawn(self) -> "Drive":
        """The same with the spring as the sheet draws it, its tolerance left out."""
        return msgspec.structs.replace(self, spring_tolerance=0.0)

    def area_m2(self, towards: End) -> float:
        """Area that oil pushes on to drive to an end."""
        full = (towards is End.OPEN) == self.full_bore_opens
        return self.cylinder.piston_m2 if full else self.cylinder.annulus_m2

    def stroke_m3(self, towards: End) -> float:
        """Oil for a full stroke to an end."""
        return self.area_m2(towards) * self.cylinder.stroke_m

    def spring_force_n(self, travel: float) -> float:
        """Spring force at the rod; 0 without a spring. A coil spring's force goes straight with the rod's travel."""
        if self.spring_n is None:
            return 0.0
        at_closed, at_open = self.spring_n
        return at_closed + (at_open - at_closed) * self.mechanism.rod_m(travel) / self.mechanism.rod_m(1.0)

    def required(self, travel: float, towards: End) -> float:
        """Torque or thrust that the valve needs at its design pressure difference; 0 where the sheet is silent."""
        if not self.loads:
            return 0.0
        points = [
            (load.travel_pct / 100, load.to_open if towards is End.OPEN else load.to_close) for load in self.loads
        ]
        return _polygon(points, travel)

    def stem(self, travel: float, force_n: float) -> float:
        """Torque or thrust at the stem that a force at the rod makes."""
        return force_n * self.mechanism.arm_m(travel) * self.efficiency

    def load_force_n(self, travel: float, towards: End, share: float = 1.0) -> float:
        """Force at the rod that the valve takes, at a share of its design load."""
        return share * self.required(travel, towards) / (self.mechanism.arm_m(travel) * self.efficiency)

    def moving_pa(self, travel: float, towards: End, share: float = 1.0) -> float:
        """
        Gauge pressure in the driving side while the valve moves: what spring and load ask for, or what the spring has
        left after the load. Below zero where the spring would stand still.

        Args:
            travel: Where.

            towards: The end it moves to.

            share: Of the valve's design load.
        """
        if towards in self.powered_ends:
            force_n = self.spring_force_n(travel) + self.load_force_n(travel, towards, share)
            return force_n / self.area_m2(towards)
        return (self.spring_force_n(travel) - self.load_force_n(travel, towards, share)) / self.cylinder.piston_m2

    def pressure_along(self, towards: End, share: float, rod_m: float) -> float:
        """As `moving_pa`, by rod position."""
        return self.moving_pa(self.mechanism.travel_at(rod_m), towards, share)

    def margins(self, towards: End, pressure_pa: float) -> tuple[Margin, ...]:
        """
        Available over required at each travel that the sheet gives a load for, in the order of the movement.

        With the spring that is worst for it: the weakest where the spring drives, the strongest where oil works against
        it.

        Args:
            towards: The end.

            pressure_pa: Lowest legitimate driving pressure, gauge: cut-in.
        """
        travels = [load.travel_pct / 100 for load in self.loads]
        if towards is End.CLOSED:
            travels.reverse()
        return tuple(self._margin(travel, travels, towards, pressure_pa) for travel in travels)

    def _margin(self, travel: float, travels: list[float], towards: End, pressure_pa: float) -> Margin:
        powered = towards in self.powered_ends
        worst = 1 + self.spring_tolerance if powered else 1 - self.spring_tolerance
        spring_n = worst * self.spring_force_n(travel)
        force_n = pressure_pa * self.area_m2(towards) - spring_n if powered else spring_n
        phase = _PHASES[0 if travel == travels[0] else 2 if travel == travels[-1] else 1]
        return Margin(
            travel=travel,
            towards=towards,
            by="pressure" if powered else "spring",
            phase=phase,
            available=self.stem(travel, force_n),
            required=self.required(travel, towards),
        )


def weakest(margins: tuple[Margin, ...]) -> Margin | None:
    """The margin with the least factor, or None where there is none."""
    return min(margins, key=lambda margin: margin.factor, default=None)


def drive_of(sheet: Sheet) -> Drive:
    """
    The driving side of a sheet.

    Raises:
        ValueError: the sheet's lengths contradict each other, or a gear or arm has no radius.
    """
    actuator, spring = sheet.actuator, sheet.spring
    return Drive(
        cylinder=Cylinder(
            bore_m=actuator.bore_mm / 1000, rod_m=actuator.rod_mm / 1000, stroke_m=actuator.stroke_mm / 1000
        ),
        mechanism=_mechanism(sheet),
        efficiency=actuator.efficiency,
        spring_n=None if spring is None else (spring.force_at_closed_n, spring.force_at_open_n),
        spring_tolerance=0.0 if spring is None else (spring.tolerance_pct or 0.0) / 100,
        loads=tuple(sorted(sheet.valve.load, key=lambda load: load.travel_pct)),
        full_bore_opens=actuator.pressure_opens,
        double_acting=actuator.action is Action.DOUBLE_ACTING,
    )


def _mechanism(sheet: Sheet) -> SlottedArm | RackAndGear | Direct:
    actuator = sheet.actuator
    swing_rad = math.radians(sheet.valve.full_travel)
    if actuator.mechanism == "slotted arm":
        if actuator.arm_radius_mm is None:
            raise ValueError("actuator: arm_radius_mm is missing")
        cant_rad = math.radians(actuator.arm_cant_deg)
        return SlottedArm(radius_m=actuator.arm_radius_mm / 1000, swing_rad=swing_rad, cant_rad=cant_rad)
    if actuator.mechanism == "rack and gear":
        radius_mm = actuator.gear_radius_mm or actuator.stroke_mm / swing_rad
        return RackAndGear(radius_m=radius_mm / 1000, swing_rad=swing_rad)
    return Direct(stroke_m=actuator.stroke_mm / 1000)


def _polygon(points: list[tuple[float, float]], at: float) -> float:
    if at <= points[0][0]:
        return points[0][1]
    for (low, low_value), (high, high_value) in pairwise(points):
        if at <= high:
            return low_value + (high_value - low_value) * (at - low) / (high - low)
    return points[-1][1]

"""
How a rod turns a stem: slotted arm (symmetric or canted), rack and gear, or none.

Everything follows from one function, rod travel over angle. Its slope is the effective arm: by virtual work a force F
at the rod is a torque F · dx/dθ at the stem, less what friction in the mechanism takes.
"""

import math
from typing import Protocol

import msgspec


class Mechanism(Protocol):
    """What lies between rod and stem. `travel` is a fraction of the valve's full travel, 0 closed and 1 open."""

    def rod_m(self, travel: float) -> float:
        """How far the rod has moved from its place at travel 0, in metres."""

    def travel_at(self, rod_m: float) -> float:
        """Travel at which the rod has moved so far."""

    def arm_m(self, travel: float) -> float:
        """Torque at the stem for each newton at the rod, in metres, without friction; 1 where nothing turns."""


class SlottedArm(msgspec.Struct, frozen=True, kw_only=True):
    """
    A pin on the rod runs in a slot of an arm; the rod's line passes the stem at `radius_m`.

    Symmetric (`cant_rad` 0): x = R(1 + tan(θ − 45°)), arm R/cos²(θ − 45°), twice as long at the ends as in the
    middle. Canted: the slot leans by γ from the radial line. With φ = θ − 45° the pin stays on both lines where x =
    R(sin(φ+γ) − sin γ)/cos(φ+γ), so the arm is R(1 − sin γ · sin(φ+γ))/cos²(φ+γ): a positive cant gives the open end
    more and the closed end less.

    Args:
        radius_m: Distance of the rod's line from the stem.

        swing_rad: Full travel of the stem, centred on the rod's normal.

        cant_rad: Lean of the slot, positive for more torque at the open end.

    Raises:
        ValueError: the slot would stand along the rod before the end of travel.

    Source: plane geometry and virtual work; the symmetric case is in textbooks, the canted one is derived here.
    """

    radius_m: float
    swing_rad: float = math.pi / 2
    cant_rad: float = 0.0

    def __post_init__(self) -> None:
        """The slot must stay well away from the rod's direction."""
        if self.radius_m <= 0 or self.swing_rad / 2 + abs(self.cant_rad) >= math.radians(85):
            raise ValueError("an arm radius above zero, and half the swing plus the cant below 85°")

    def rod_m(self, travel: float) -> float:
        """As in `Mechanism`."""
        return self._pin_m(travel) - self._pin_m(0.0)

    def travel_at(self, rod_m: float) -> float:
        """As in `Mechanism`: with L = φ + γ, R·sin L − x·cos L = R·sin γ solved for L."""
        pin_m = rod_m + self._pin_m(0.0)
        reach_m = math.hypot(self.radius_m, pin_m)
        lean = math.atan2(pin_m, self.radius_m) + math.asin(self.radius_m * math.sin(self.cant_rad) / reach_m)
        return (lean - self.cant_rad) / self.swing_rad + 0.5

    def arm_m(self, travel: float) -> float:
        """As in `Mechanism`."""
        lean = self._lean_rad(travel)
        return self.radius_m * (1.0 - math.sin(self.cant_rad) * math.sin(lean)) / math.cos(lean) ** 2

    def _pin_m(self, travel: float) -> float:
        lean = self._lean_rad(travel)
        return self.radius_m * (math.sin(lean) - math.sin(self.cant_rad)) / math.cos(lean)

    def _lean_rad(self, travel: float) -> float:
        return (travel - 0.5) * self.swing_rad + self.cant_rad


class RackAndGear(msgspec.Struct, frozen=True, kw_only=True):
    """A rack on the rod turns a gear: the arm is the pitch radius everywhere."""

    radius_m: float
    swing_rad: float = math.pi / 2

    def rod_m(self, travel: float) -> float:
        """As in `Mechanism`."""
        return self.radius_m * self.swing_rad * travel

    def travel_at(self, rod_m: float) -> float:
        """As in `Mechanism`."""
        return rod_m / (self.radius_m * self.swing_rad)

    def arm_m(self, travel: float) -> float:  # noqa: ARG002  # the same everywhere
        """As in `Mechanism`."""
        return self.radius_m


class Direct(msgspec.Struct, frozen=True, kw_only=True):
    """The rod is the stem: thrust in, thrust out."""

    stroke_m: float

    def rod_m(self, travel: float) -> float:
        """As in `Mechanism`."""
        return self.stroke_m * travel

    def travel_at(self, rod_m: float) -> float:
        """As in `Mechanism`."""
        return rod_m / self.stroke_m

    def arm_m(self, travel: float) -> float:  # noqa: ARG002  # the same everywhere
        """As in `Mechanism`: newtons to newtons."""
        return 1.0

"""Piston areas, forces and displaced volumes of a hydraulic cylinder."""

import math

import msgspec


class Cylinder(msgspec.Struct, frozen=True, kw_only=True):
    """
    A cylinder with a rod through one side.

    Args:
        bore_m: Diameter of the piston.

        rod_m: Diameter of the rod; 0 for a single-acting cylinder whose rod side is open to the tank or to air.

        stroke_m: Travel of the piston.

    Raises:
        ValueError: a length is not above zero, or the rod is not thinner than the bore.
    """

    bore_m: float
    stroke_m: float
    rod_m: float = 0.0

    def __post_init__(self) -> None:
        """A rod as thick as the bore leaves no area to push on."""
        if self.bore_m <= 0 or self.stroke_m <= 0 or not 0 <= self.rod_m < self.bore_m:
            raise ValueError("bore and stroke above zero, the rod thinner than the bore")

    @property
    def piston_m2(self) -> float:
        """Full area of the piston."""
        return circle_m2(self.bore_m)

    @property
    def annulus_m2(self) -> float:
        """Area on the rod's side."""
        return circle_m2(self.bore_m) - circle_m2(self.rod_m)

    @property
    def piston_side_m3(self) -> float:
        """Oil that a full stroke takes on the piston side."""
        return self.piston_m2 * self.stroke_m

    @property
    def rod_side_m3(self) -> float:
        """Oil that a full stroke takes on the rod's side."""
        return self.annulus_m2 * self.stroke_m

    @property
    def rod_m3(self) -> float:
        """What the rod displaces over a full stroke: the difference of the two sides."""
        return circle_m2(self.rod_m) * self.stroke_m


def circle_m2(diameter_m: float) -> float:
    """Area of a circle."""
    return math.pi / 4 * diameter_m * diameter_m


def hydraulic_power_w(flow_m3_s: float, pressure_pa: float) -> float:
    """Power in the oil, in watts: flow times pressure."""
    return flow_m3_s * pressure_pa

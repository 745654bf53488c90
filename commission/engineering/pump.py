"""
A fixed-displacement pump: what it delivers at a pressure and a viscosity, and how long a stroke takes.

Slip through the pump's clearances grows with pressure, falls with viscosity and hardly knows the speed. Laminar slip
(Wilson's model, in textbooks on hydraulic machines) goes with one over viscosity, turbulent slip does not know it; real
pumps lie between, and the square root is taken (common practice, no source). One known efficiency fixes the rest.
"""

import math
from collections.abc import Callable

import msgspec

from commission.engineering.quadrature import integral


class Pump(msgspec.Struct, frozen=True, kw_only=True):
    """
    A pump as its sheet gives it.

    Args:
        displacement_m3: Each revolution.

        speed_per_s: Rated speed, revolutions a second.

        efficiency: Volumetric, at `at_pa` and `at_m2_s`.

        at_pa: Pressure difference of the stated efficiency; 0 where slip shall not depend on pressure.

        at_m2_s: Kinematic viscosity of the stated efficiency; 0 where slip shall not depend on viscosity.
    """

    displacement_m3: float
    speed_per_s: float
    efficiency: float
    at_pa: float = 0.0
    at_m2_s: float = 0.0

    @property
    def swept_m3_s(self) -> float:
        """Flow without slip."""
        return self.displacement_m3 * self.speed_per_s

    @property
    def stated_m3_s(self) -> float:
        """Flow at the stated efficiency."""
        return self.swept_m3_s * self.efficiency

    def slip_m3_s(self, pressure_pa: float, viscosity_m2_s: float) -> float:
        """What leaks back inside the pump: in proportion to pressure, less through thicker oil."""
        slip = self.swept_m3_s * (1.0 - self.efficiency)
        if self.at_pa > 0.0:
            slip *= max(0.0, pressure_pa) / self.at_pa
        if self.at_m2_s > 0.0:
            slip *= math.sqrt(self.at_m2_s / viscosity_m2_s)
        return slip

    def flow_m3_s(self, pressure_pa: float, viscosity_m2_s: float, speed_share: float = 1.0) -> float:
        """
        What the pump delivers; never below zero.

        Args:
            pressure_pa: Gauge.

            viscosity_m2_s: Of the oil in the pump.

            speed_share: Share of rated speed, as low supply gives it.
        """
        return max(0.0, self.swept_m3_s * speed_share - self.slip_m3_s(pressure_pa, viscosity_m2_s))


def volumetric_efficiency(volume_m3: float, seconds: float, swept_m3_s: float) -> float:
    """
    Efficiency that a timed stroke shows: oil that arrived over oil swept.

    Raises:
        ValueError: the time or the swept flow is not above zero.
    """
    if seconds <= 0 or swept_m3_s <= 0:
        raise ValueError("a time and a swept flow above zero")
    return volume_m3 / (seconds * swept_m3_s)


def stroke_time_s(area_m2: float, stroke_m: float, flow_m3_s: float) -> float:
    """
    Time that a constant flow takes to push a piston over its stroke.

    Raises:
        ValueError: the flow is not above zero.
    """
    if flow_m3_s <= 0:
        raise ValueError("a flow above zero")
    return area_m2 * stroke_m / flow_m3_s


def loaded_stroke_time_s(
    pump: Pump,
    area_m2: float,
    rod_m: float,
    pressure_at: Callable[[float], float],
    viscosity_m2_s: float,
    speed_share: float = 1.0,
) -> float:
    """
    Time of a pumped stroke whose pressure changes on the way, ∫ A dx / Q(p(x)); infinite where the flow runs out.

    Args:
        pump: The pump.

        area_m2: Of the piston.

        rod_m: Length of the stroke.

        pressure_at: Gauge pressure at a rod position.

        viscosity_m2_s: Of the oil.

        speed_share: Share of rated speed.
    """

    def seconds_a_metre(rod: float) -> float:
        flow = pump.flow_m3_s(pressure_at(rod), viscosity_m2_s, speed_share)
        return area_m2 / flow if flow > 0.0 else float("inf")

    return integral(seconds_a_metre, 0.0, rod_m)

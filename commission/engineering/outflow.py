"""
A piston that a spring pushes home against oil leaving through an orifice, and the line behind it.

The pressure is what the spring has left after friction; the orifice takes the square root of it (turbulent), the
return line a share in proportion to flow and viscosity (laminar). Their sum is a quadratic in the flow, so no
equation is solved by trial: t = ∫ A dx / Q(p(x)).
"""

import math
from collections.abc import Callable

import msgspec

from commission.engineering.quadrature import integral


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """
    A way out for oil.

    Args:
        orifice_m2: Effective area, discharge coefficient times area.

        density_kg_m3: Of the oil.

        line_pa_s_m3: Laminar resistance of the line behind it, 0 for none.

        back_pa: Constant gauge pressure at its end.
    """

    orifice_m2: float
    density_kg_m3: float
    line_pa_s_m3: float = 0.0
    back_pa: float = 0.0

    def flow_m3_s(self, pressure_pa: float) -> float:
        """
        Flow out at a gauge pressure in the cylinder; 0 where that is not above what stands behind.

        Source: orifice equation Q = Cd·a·√(2Δp/ρ) and Hagen-Poiseuille in series (textbook).
        """
        drop = pressure_pa - self.back_pa
        if drop <= 0.0 or self.orifice_m2 <= 0.0:
            return 0.0
        a = self.density_kg_m3 / (2.0 * self.orifice_m2**2)
        b = self.line_pa_s_m3
        return 2.0 * drop / (b + math.sqrt(b * b + 4.0 * a * drop))  # the form that stays exact without a line


def line_resistance_pa_s_m3(viscosity_m2_s: float, density_kg_m3: float, length_m: float, bore_m: float) -> float:
    """
    Pressure drop of laminar flow in a round pipe for each m³/s.

    Source: Hagen-Poiseuille, Δp = 128 µ L Q / (π d⁴); holds below a Reynolds number of about 2000.
    """
    return 128.0 * viscosity_m2_s * density_kg_m3 * length_m / (math.pi * bore_m**4)


def reynolds(flow_m3_s: float, bore_m: float, viscosity_m2_s: float) -> float:
    """Reynolds number of flow in a round pipe, 4Q/(π d ν)."""
    return 4.0 * flow_m3_s / (math.pi * bore_m * viscosity_m2_s)


def outflow_time_s(
    way: Way, area_m2: float, from_rod_m: float, to_rod_m: float, pressure_at: Callable[[float], float]
) -> float:
    """
    Time in which the piston is pushed from one rod position to another; infinite where it stops on the way.

    Args:
        way: Where the oil leaves.

        area_m2: Of the piston.

        from_rod_m: Rod position at the start, in metres.

        to_rod_m: At the end; either side of the start.

        pressure_at: Gauge pressure that balances spring and load at a rod position.
    """

    def seconds_a_metre(rod_m: float) -> float:
        flow = way.flow_m3_s(pressure_at(rod_m))
        return area_m2 / flow if flow > 0.0 else math.inf

    low, high = sorted((from_rod_m, to_rod_m))
    return integral(seconds_a_metre, low, high)


def orifice_for_time_m2(seconds: float, measured_s: float, orifice_m2: float) -> float:
    """
    Effective area that makes a measured stroke time true, from the time computed with another area.

    Time goes with one over the area where the orifice governs, so one number fitted from a stroke predicts the others.

    Args:
        seconds: Computed with `orifice_m2`.

        measured_s: Measured.

        orifice_m2: The area used.

    Raises:
        ValueError: a time is not a finite number above zero.
    """
    if not (0.0 < seconds < math.inf and 0.0 < measured_s < math.inf):
        raise ValueError("finite times above zero")
    return orifice_m2 * seconds / measured_s

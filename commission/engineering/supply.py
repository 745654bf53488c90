"""Motor and supply: current against pressure, efficiency, voltage unbalance, starts that a load asks for."""

import math
from collections.abc import Sequence
from typing import Literal

Phases = Literal["DC", "single-phase", "three-phase"]

MOTOR_STARTS_4_POLE = {
    0.75: (30.0, 38.0),
    1.1: (25.7, 38.0),
    1.5: (23.0, 39.0),
    2.2: (19.8, 40.0),
    3.7: (16.3, 42.0),
}
"""
Starts in an hour with no inertia to speed up, and least rest in seconds, by rated kW of a four-pole design B motor.

Source: NEMA MG 10, table of starts for 1, 1.5, 2, 3 and 5 hp (read for 1 and 5 hp, from memory for the others).
"""


def line_factor(phases: Phases) -> float:
    """Power over volts times amperes, before power factor: √3 between three lines, else 1."""
    return math.sqrt(3.0) if phases == "three-phase" else 1.0


def overall_efficiency(
    pressure_pa: float, flow_m3_s: float, volts: float, amperes: float, phases: Phases = "DC"
) -> float:
    """
    Power in the oil over apparent power taken: pump, motor and power factor in one number.

    Raises:
        ValueError: volts or amperes are not above zero.
    """
    if volts <= 0 or amperes <= 0:
        raise ValueError("volts and amperes above zero")
    return pressure_pa * flow_m3_s / (line_factor(phases) * volts * amperes)


def motor_current_a(
    pressure_pa: float, flow_m3_s: float, volts: float, efficiency: float, phases: Phases = "DC"
) -> float:
    """
    Current of the pump motor at a pressure.

    Source: I = p·Q/(η·V), with √3 for three phases (textbook); `efficiency` holds the power factor too.

    Raises:
        ValueError: volts or efficiency are not above zero.
    """
    if volts <= 0 or efficiency <= 0:
        raise ValueError("volts and efficiency above zero")
    return pressure_pa * flow_m3_s / (efficiency * volts * line_factor(phases))


def unbalance(volts: Sequence[float]) -> float:
    """
    Voltage unbalance of three line voltages as a fraction: largest departure from the mean over the mean.

    Raises:
        ValueError: not three voltages above zero.

    Source: NEMA MG 1, 14.36. It is not (largest − smallest)/mean, and not the negative-sequence ratio of IEC.
    """
    if len(volts) != 3 or min(volts) <= 0:
        raise ValueError("three line voltages above zero")
    mean = math.fsum(volts) / 3
    return max(abs(volt - mean) for volt in volts) / mean


def starts_per_hour(oil_used_m3_h: float, band_m3: float) -> float:
    """
    Motor starts that a demand for oil makes: oil used in an hour over the oil between cut-out and cut-in.

    Raises:
        ValueError: there is no oil between the switch points.
    """
    if band_m3 <= 0:
        raise ValueError("oil between cut-out and cut-in above zero")
    return oil_used_m3_h / band_m3


def longest_duty(run_s: float, starts: int, window_s: float) -> float:
    """Share of the time that the motor runs when it uses all its allowed starts; at most 1."""
    return min(1.0, run_s * starts / window_s)


def allowed_starts(rated_kw: float) -> tuple[float, float] | None:
    """Starts an hour and rest of the smallest tabled four-pole motor that is not smaller; None above the table."""
    for kw, limits in MOTOR_STARTS_4_POLE.items():
        if rated_kw <= kw:
            return limits
    return None

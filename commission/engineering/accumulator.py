"""
A gas-loaded accumulator: how much oil it gives between two pressures, and what is left after a stroke.

All pressures here are absolute: the commonest error of this calculation is gauge pressure in a gas law. Slow changes
(over about three minutes) are isothermal, n = 1; fast ones adiabatic, n = 1.4. Both rules are common practice. At 100
bar real nitrogen falls up to 5 % further in a fast stroke than n = 1.4 says: a margin is no place to save.
"""

import math

import msgspec

ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere (ISO 2533)."""

KELVIN_AT_0_C = 273.15
SLOW, FAST = 1.0, 1.4
"""Polytropic exponents of nitrogen: heat has time to flow, and has none."""


def absolute_pa(gauge_pa: float) -> float:
    """Gauge pressure to absolute, at the standard atmosphere."""
    return gauge_pa + ATMOSPHERE_PA


class Charge(msgspec.Struct, frozen=True, kw_only=True):
    """
    An accumulator as charged.

    Args:
        volume_m3: Of the gas with no oil in it.

        precharge_abs_pa: Absolute pressure of that gas at its present temperature.

    Raises:
        ValueError: a value is not above zero.
    """

    volume_m3: float
    precharge_abs_pa: float

    def __post_init__(self) -> None:
        """No gas, no accumulator."""
        if self.volume_m3 <= 0 or self.precharge_abs_pa <= 0:
            raise ValueError("a gas volume and a precharge above zero")

    def oil_m3(self, pressure_abs_pa: float, exponent: float = SLOW) -> float:
        """
        Oil held at a pressure that was reached from precharge; 0 at or below precharge.

        Source: p·Vⁿ constant (textbook).
        """
        if pressure_abs_pa <= self.precharge_abs_pa:
            return 0.0
        return self.volume_m3 * (1.0 - math.pow(self.precharge_abs_pa / pressure_abs_pa, 1.0 / exponent))

    def usable_m3(self, low_abs_pa: float, high_abs_pa: float, exponent: float = SLOW) -> float:
        """Oil given between two pressures, both counted from precharge with the same exponent."""
        return self.oil_m3(high_abs_pa, exponent) - self.oil_m3(low_abs_pa, exponent)

    def pressure_after_abs_pa(self, from_abs_pa: float, drawn_m3: float, exponent: float = FAST) -> float:
        """
        Absolute pressure after drawing oil, from a pressure that was held long enough to be at ambient temperature.

        Args:
            from_abs_pa: Before.

            drawn_m3: Oil drawn; at most what is held.

            exponent: Of the expansion.

        Raises:
            ValueError: there is not so much oil.
        """
        held_m3 = self.oil_m3(from_abs_pa)
        if drawn_m3 > held_m3:
            raise ValueError(f"{drawn_m3 * 1e3:.3g} L drawn, {held_m3 * 1e3:.3g} L held")
        gas_m3 = self.volume_m3 - held_m3
        return from_abs_pa * math.pow(gas_m3 / (gas_m3 + drawn_m3), exponent)

    def gives_m3(self, from_abs_pa: float, down_to_abs_pa: float, exponent: float = FAST) -> float:
        """Oil given from a pressure long held down to another one, never more than is held."""
        held_m3 = self.oil_m3(from_abs_pa)
        gas_m3 = self.volume_m3 - held_m3
        if down_to_abs_pa >= from_abs_pa:
            return 0.0
        return min(held_m3, gas_m3 * (math.pow(from_abs_pa / down_to_abs_pa, 1.0 / exponent) - 1.0))


def strokes_left(
    charge: Charge, from_abs_pa: float, stroke_m3: float, lowest_abs_pa: float, exponent: float = FAST
) -> int:
    """
    Whole strokes that the accumulator still makes without the pump, each ending at or above the lowest pressure.

    Args:
        charge: The accumulator.

        from_abs_pa: Pressure now, long held.

        stroke_m3: Oil for one stroke.

        lowest_abs_pa: Lowest pressure at which the stroke still has its force.

        exponent: Of the expansion.

    Raises:
        ValueError: a stroke takes no oil.
    """
    if stroke_m3 <= 0:
        raise ValueError("oil for a stroke above zero")
    return math.floor(charge.gives_m3(from_abs_pa, lowest_abs_pa, exponent) / stroke_m3 + 1e-9)


def volume_for_m3(
    wanted_m3: float, precharge_abs_pa: float, low_abs_pa: float, high_abs_pa: float, exponent: float
) -> float:
    """
    Gas volume of an accumulator that gives a wanted amount of oil between two pressures.

    Raises:
        ValueError: the pressures are not in the order precharge ≤ low < high.
    """
    if not 0 < precharge_abs_pa <= low_abs_pa < high_abs_pa:
        raise ValueError("precharge ≤ low < high, absolute")
    return wanted_m3 / Charge(volume_m3=1.0, precharge_abs_pa=precharge_abs_pa).usable_m3(
        low_abs_pa, high_abs_pa, exponent
    )


def ideal_precharge_pa(at_pa: float, at_c: float, now_c: float) -> float:
    """
    Gauge precharge at another gas temperature by the ideal gas law, p/T constant on absolute pressure and kelvin.

    Raises:
        ValueError: a temperature is not above absolute zero.
    """
    if min(at_c, now_c) <= -KELVIN_AT_0_C:
        raise ValueError("temperatures above absolute zero")
    return absolute_pa(at_pa) * (now_c + KELVIN_AT_0_C) / (at_c + KELVIN_AT_0_C) - ATMOSPHERE_PA

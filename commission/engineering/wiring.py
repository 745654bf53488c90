"""
Copper: resistance of a cable by its size, and the volts it takes away while running and at inrush.

Sizes are AWG (stranded) or mm² (class 2). Tables give the resistance that a designer may count on.
"""

import math
import re

import msgspec

M_PER_KFT = 304.8

AWG_OHM_PER_KFT_75C = {
    18: 7.95, 16: 4.99, 14: 3.14, 12: 1.98, 10: 1.24, 8: 0.778, 6: 0.491, 4: 0.308, 3: 0.245, 2: 0.194, 1: 0.154,
}  # fmt: skip
"""
Uncoated copper, stranded (18 to 8: seven strands), direct current, 75 °C.

Source: NFPA 70, chapter 9, table 8 (read in public copies).
"""

MM2_OHM_PER_KM_20C = {
    0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15,
}  # fmt: skip
"""Plain copper, class 2, largest resistance at 20 °C. Source: IEC 60228, table 2 (from memory)."""

COPPER_PER_K_AT_75C = 0.00323
"""NFPA 70, chapter 9, table 8, note 2: R2 = R1·[1 + 0.00323·(T2 − 75)]."""

COPPER_PER_K_AT_20C = 0.00393
"""IEC 60228 and the international annealed copper standard, at 20 °C."""

_SIZE = re.compile(r"\s*(?:AWG\s*(\d+)|([\d.]+)\s*mm(?:2|²))\s*", re.IGNORECASE)


class UnknownSize(ValueError):
    """A conductor size that stands in neither table."""


def ohm_per_m(size: str, celsius: float = 20.0) -> float:
    """
    Direct-current resistance of one conductor for each metre.

    Args:
        size: `AWG 10` or `2.5 mm²`.

        celsius: Temperature of the copper.

    Raises:
        UnknownSize: no such size in the tables.
    """
    match = _SIZE.fullmatch(size)
    if match is not None and match[1] and int(match[1]) in AWG_OHM_PER_KFT_75C:
        at_75 = AWG_OHM_PER_KFT_75C[int(match[1])] / M_PER_KFT
        return at_75 * (1.0 + COPPER_PER_K_AT_75C * (celsius - 75.0))
    if match is not None and match[2] and match[2].count(".") < 2 and float(match[2]) in MM2_OHM_PER_KM_20C:
        at_20 = MM2_OHM_PER_KM_20C[float(match[2])] / 1000.0
        return at_20 * (1.0 + COPPER_PER_K_AT_20C * (celsius - 20.0))
    known = [*(f"AWG {number}" for number in AWG_OHM_PER_KFT_75C), *(f"{area:g} mm²" for area in MM2_OHM_PER_KM_20C)]
    raise UnknownSize(f"{size!r} is not one of {', '.join(known)}")


class Cable(msgspec.Struct, frozen=True, kw_only=True):
    """
    A cable between isolator and motor.

    Args:
        length_m: One way.

        ohm_m: Resistance of one conductor for each metre.

        three_phase: Three conductors share the current; else it goes out and back.
    """

    length_m: float
    ohm_m: float
    three_phase: bool = False

    @property
    def loop_ohm(self) -> float:
        """What the current sees: out and back, or √3 for the voltage between lines."""
        return self.length_m * self.ohm_m * (math.sqrt(3.0) if self.three_phase else 2.0)

    def drop_v(self, current_a: float, power_factor: float = 1.0) -> float:
        """
        Volts lost; the cable's reactance is left out, which matters only above about 16 mm².

        Source: 2·L·r·I for direct and single-phase current, √3·L·r·I·cos φ for three phases (textbook).
        """
        return self.loop_ohm * current_a * power_factor

    def left_v(self, source_v: float, current_a: float, power_factor: float = 1.0) -> float:
        """Volts at the terminals."""
        return source_v - self.drop_v(current_a, power_factor)


def largest_loop_ohm(supply_v: float, lift_off_v: float, current_a: float = 0.022) -> float:
    """
    Largest resistance that a 4-20 mA loop may have.

    Args:
        supply_v: Of the loop.

        lift_off_v: That the transmitter needs at its terminals.

        current_a: Largest current that must get through; a failure current of 21 mA and more must fit too.

    Raises:
        ValueError: the supply is not above the lift-off voltage, or the current not above zero.
    """
    if supply_v <= lift_off_v or current_a <= 0:
        raise ValueError("a supply above the lift-off voltage and a current above zero")
    return (supply_v - lift_off_v) / current_a

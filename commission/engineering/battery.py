"""Battery, sun and wind: how many days a unit lives without charging, and what has to be collected in a day."""

from itertools import pairwise

import msgspec

SYSTEM_SHARE = 0.75
"""Share of an array's rated power that arrives in the battery: dirt, heat, wiring. Common practice, no source."""

LEAD_ACID_CAPACITY = (
    (-3.9, 1.52), (-1.1, 1.43), (1.7, 1.35), (4.4, 1.30), (7.2, 1.25), (10.0, 1.19), (12.8, 1.15), (15.6, 1.11),
    (18.3, 1.08), (21.1, 1.04), (25.0, 1.00),
)  # fmt: skip
"""
Factor by which a lead-acid battery has to be larger at an electrolyte temperature in °C.

Source: IEEE 485, table 1 (from memory).
"""


class Budget(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a unit takes from its battery.

    Args:
        standby_a: All day.

        stroke_ah: For one full cycle of the valve, pump and all.

        strokes_per_day: How many of them.
    """

    standby_a: float
    stroke_ah: float
    strokes_per_day: float

    @property
    def ah_per_day(self) -> float:
        """Charge taken in a day."""
        return 24.0 * self.standby_a + self.strokes_per_day * self.stroke_ah


def stroke_ah(current_a: float, run_s: float) -> float:
    """Charge that one motor run takes."""
    return current_a * run_s / 3600.0


def autonomy_days(battery_ah: float, depth: float, cold_factor: float, ah_per_day: float) -> float:
    """
    Days without charging.

    Args:
        battery_ah: Rated.

        depth: Share of it that may be used.

        cold_factor: Share of it that is there at the design cold.

        ah_per_day: Taken.

    Raises:
        ValueError: a share is not within 0 and 1, or nothing is taken.

    Source: the shape of the worksheets of IEEE 1013 and 1562 (from memory).
    """
    if not (0 < depth <= 1 and 0 < cold_factor <= 1) or ah_per_day <= 0:
        raise ValueError("depth and cold factor within 0 and 1, and some charge taken each day")
    return battery_ah * depth * cold_factor / ah_per_day


def battery_for_ah(ah_per_day: float, days: float, depth: float, cold_factor: float) -> float:
    """Rated capacity that lives so many days; the inverse of `autonomy_days`."""
    return ah_per_day * days / (depth * cold_factor)


def cold_capacity_factor(celsius: float) -> float:
    """
    How much larger a lead-acid battery must be at a temperature, between the points of the table.

    Raises:
        ValueError: colder than the table, where the battery's maker has to say; warmer than 25 °C gives 1.
    """
    if celsius >= LEAD_ACID_CAPACITY[-1][0]:
        return 1.0
    if celsius < LEAD_ACID_CAPACITY[0][0]:
        raise ValueError(f"the table begins at {LEAD_ACID_CAPACITY[0][0]:g} °C")
    for (low_c, low), (high_c, high) in pairwise(LEAD_ACID_CAPACITY):
        if celsius <= high_c:
            return low + (high - low) * (celsius - low_c) / (high_c - low_c)
    return 1.0


def array_w(ah_per_day: float, volts: float, sun_h_per_day: float, share: float = SYSTEM_SHARE) -> float:
    """
    Rated power that an array needs to put back in a day of the poorest month what a day takes.

    Raises:
        ValueError: no sun, or nothing arrives.
    """
    if sun_h_per_day <= 0 or share <= 0:
        raise ValueError("sun hours and a share that arrives, above zero")
    return ah_per_day * volts / (sun_h_per_day * share)


def collected_ah(
    volts: float, solar_w: float, sun_h_per_day: float, wind_w: float = 0.0, wind_share: float = 0.0
) -> float:
    """
    Charge that sun and wind put back in a day.

    Args:
        volts: Of the battery.

        solar_w: Rated power of the array.

        sun_h_per_day: Full-sun hours.

        wind_w: Rated power of the wind generator.

        wind_share: Its mean output over its rated power.
    """
    return SYSTEM_SHARE * (solar_w * sun_h_per_day + wind_w * wind_share * 24.0) / volts


def recovery_days(missing_ah: float, collected: float, ah_per_day: float) -> float:
    """Days in which an empty battery is full again while the unit lives on; infinite where nothing is left over."""
    over = collected - ah_per_day
    return missing_ah / over if over > 0 else float("inf")

"""Oil shut in: what temperature does to its pressure, what a pressure costs in volume, and what a leak makes of it."""

import math

from commission.engineering.accumulator import Charge

BULK_MODULUS_PA = 1.4e9
"""Of hydraulic oil with little air and steel around it; common practice, no source. A sheet may say otherwise."""

EXPANSION_PER_K = 7.0e-4
"""Of mineral oil; a textbook on fluid power gives 0.0007 /K."""


def pressure_per_kelvin_pa(bulk_modulus_pa: float = BULK_MODULUS_PA, expansion_per_k: float = EXPANSION_PER_K) -> float:
    """Rise of pressure for each kelvin in a rigid volume full of oil, α·β; the vessel's own growth is left out."""
    return bulk_modulus_pa * expansion_per_k


def compressed_m3(volume_m3: float, pressure_change_pa: float, bulk_modulus_pa: float = BULK_MODULUS_PA) -> float:
    """Oil that goes into a full volume for a rise of pressure, V·Δp/β."""
    return volume_m3 * pressure_change_pa / bulk_modulus_pa


def cooling_for_band_k(
    charge: Charge | None,
    oil_m3: float,
    high_abs_pa: float,
    low_abs_pa: float,
    bulk_modulus_pa: float = BULK_MODULUS_PA,
    expansion_per_k: float = EXPANSION_PER_K,
) -> float:
    """
    How far oil has to cool until the pressure has fallen from one switch point to the other, in kelvin.

    Oil shrinks by V·α·ΔT; the accumulator and the oil's own compression make up for it. The gas is taken at constant
    temperature.

    Args:
        charge: The accumulator; None where there is none, or where its gas is lost.

        oil_m3: Oil shut in.

        high_abs_pa: Upper switch point.

        low_abs_pa: Lower switch point.

        bulk_modulus_pa: Of the oil.

        expansion_per_k: Of the oil.

    Raises:
        ValueError: no oil is shut in, or the oil does not expand.
    """
    if oil_m3 <= 0 or expansion_per_k <= 0:
        raise ValueError("oil above zero that expands")
    stored_m3 = compressed_m3(oil_m3, high_abs_pa - low_abs_pa, bulk_modulus_pa)
    if charge is not None:
        stored_m3 += charge.usable_m3(low_abs_pa, high_abs_pa)
    return stored_m3 / (oil_m3 * expansion_per_k)


def restart_interval_s(band_m3: float, leak_m3_s: float) -> float:
    """Time between motor starts that a leak causes: oil between cut-out and cut-in over the leak; infinite for none."""
    return band_m3 / leak_m3_s if leak_m3_s > 0 else math.inf


def leak_m3_s(band_m3: float, restarts_per_s: float) -> float:
    """Leak that a rate of restarts shows."""
    return band_m3 * restarts_per_s


def air_bulk_modulus_pa(air_share: float, pressure_abs_pa: float, oil_pa: float = BULK_MODULUS_PA) -> float:
    """
    Stiffness of oil with free air in it.

    Args:
        air_share: Volume of air at atmospheric pressure over volume of oil.

        pressure_abs_pa: Absolute pressure; the air is compressed at constant temperature.

        oil_pa: Bulk modulus of the oil alone.

    Source: 1/β = 1/β_oil + x·p0/p² (textbook; isothermal air as springs in series).
    """
    return 1.0 / (1.0 / oil_pa + air_share * 101_325.0 / pressure_abs_pa**2)

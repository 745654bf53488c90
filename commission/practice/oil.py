"""
How much oil a closed space holds at a pressure, and back: stiff oil, a little air, and the accumulator's nitrogen.

Stored oil is counted at atmospheric pressure and above what fills the space at zero gauge pressure. The gas follows
p·V = const in absolute pressure (isothermal: strokes of this kind of unit take minutes, and the slow law is the one its
usable volume is quoted by).
"""

import math

import msgspec

ATMOSPHERE_PA = 101_325.0
BULK_MODULUS_PA = 1.4e9
EXPANSION_K = 7e-4
"""Cubic expansion of mineral oil, a kelvin."""

GAS_GONE_PA = 1e5
"""A precharge below this is none: the gas has gone, and oil stands in its place."""


class Space(msgspec.Struct, frozen=True, kw_only=True):
    """
    A closed space with oil in it.

    Args:
        volume_m3: Filled with oil at zero gauge pressure.

        air_m3: Undissolved air, at atmospheric pressure.

        gas_m3: Nitrogen, at its precharge; 0 without an accumulator.

        precharge_pa: Gauge precharge at the present temperature.
    """

    volume_m3: float
    air_m3: float = 0.0
    gas_m3: float = 0.0
    precharge_pa: float = 0.0

    def stored_m3(self, pressure_pa: float, swept_m3: float = 0.0) -> float:
        """Oil held at a gauge pressure, with the piston displaced by `swept_m3`."""
        absolute_pa = pressure_pa + ATMOSPHERE_PA
        stored = swept_m3 + (self.volume_m3 + swept_m3) * pressure_pa / BULK_MODULUS_PA
        stored += self.air_m3 * (1.0 - ATMOSPHERE_PA / absolute_pa)
        if pressure_pa > self.precharge_pa:
            stored += self.gas_m3 * (1.0 - (self.precharge_pa + ATMOSPHERE_PA) / absolute_pa)
        return stored

    def energy_j(self, pressure_pa: float, swept_m3: float = 0.0) -> float:
        """
        Work that filling it to a gauge pressure took, from nothing, the piston standing where it is.

        The integral of `work_pa` over the oil stored, in closed form: oil, then each gas from where it begins to give.
        """
        ratio = pressure_pa / BULK_MODULUS_PA
        oil_j = (self.volume_m3 + swept_m3) * BULK_MODULUS_PA * ((1.0 + ratio) * math.log1p(ratio) - ratio)
        gases_j = self.air_m3 * ATMOSPHERE_PA * (_gas_term(pressure_pa) - _gas_term(0.0))
        if pressure_pa > self.precharge_pa and self.gas_m3:
            charged = _gas_term(pressure_pa) - _gas_term(self.precharge_pa)
            gases_j += self.gas_m3 * (self.precharge_pa + ATMOSPHERE_PA) * charged
        return oil_j + gases_j

    def pressure_pa(self, stored_m3: float, swept_m3: float = 0.0) -> float:
        """
        The gauge pressure at which `stored_m3` of oil is held; never below zero.

        Both gases enter as 1/p, so the balance is a quadratic in absolute pressure.
        """
        excess = stored_m3 - swept_m3
        if excess <= 0.0:
            return 0.0
        per_pa = (self.volume_m3 + swept_m3) / BULK_MODULUS_PA
        with_gas = self.gas_m3 > 0.0 and stored_m3 > self.stored_m3(self.precharge_pa, swept_m3)
        gases = self.air_m3 + (self.gas_m3 if with_gas else 0.0)
        gas_pv = self.air_m3 * ATMOSPHERE_PA
        if with_gas:
            gas_pv += self.gas_m3 * (self.precharge_pa + ATMOSPHERE_PA)
        constant = gases - excess - per_pa * ATMOSPHERE_PA
        root = math.sqrt(constant * constant + 4.0 * per_pa * gas_pv)
        # of the two forms of the root, the one that does not subtract equals
        absolute_pa = 2.0 * gas_pv / (constant + root) if constant > 0.0 else (root - constant) / (2.0 * per_pa)
        return max(0.0, absolute_pa - ATMOSPHERE_PA)


def work_pa(pressure_pa: float) -> float:
    """
    Work a unit of oil that is pressed in at a gauge pressure, the oil counted at atmospheric pressure.

    A pump lifts the oil's pressure while its volume shrinks: the integral of dp / (1 + p/K), as the first law asks of a
    space whose piston does p dV. By p itself it would be 0.4 % too much at 125 bar.
    """
    return BULK_MODULUS_PA * math.log1p(pressure_pa / BULK_MODULUS_PA)


def _gas_term(pressure_pa: float) -> float:
    """Antiderivative of `work_pa` over a gas that holds 1/p, a unit of p·V at its charge: by parts."""
    absolute_pa = pressure_pa + ATMOSPHERE_PA
    bulk_pa = BULK_MODULUS_PA
    share = math.log(absolute_pa / (bulk_pa + pressure_pa)) / (bulk_pa - ATMOSPHERE_PA)
    return bulk_pa * (share - math.log1p(pressure_pa / bulk_pa) / absolute_pa)


def joined(first: Space, second: Space) -> Space:
    """Two spaces with the valve between them open; at most one has an accumulator."""
    return Space(
        volume_m3=first.volume_m3 + second.volume_m3,
        air_m3=first.air_m3 + second.air_m3,
        gas_m3=first.gas_m3 + second.gas_m3,
        precharge_pa=max(first.precharge_pa, second.precharge_pa),
    )

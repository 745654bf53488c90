"""
A nitrogen accumulator whose gas has a temperature of its own.

Oil that comes in squeezes the gas slowly enough, and stirs it enough, that its heat is gone into the steel at once; gas
that drives oil out in seconds cools as it expands (n = 1.4) and takes its heat back within a minute or so. Charging is
thus by the slow law and an emergency stroke by the fast one, as the sheets of such units quote them.
"""

import math

from commission.practice.oil import ATMOSPHERE_PA, BULK_MODULUS_PA, GAS_GONE_PA

_GAMMA = 1.4
_WARMS_S = 60.0
_LINE_M3 = 50e-6
_LEAST_GAS = 0.01
_KELVIN = 273.15


class Bladder:
    """
    Accumulator and the pump line it hangs on.

    Oil is counted from where the line is full at zero gauge pressure.

    Args:
        volume_m3: Of the gas without oil.

        precharge_pa: Gauge pressure of the gas without oil, at `celsius`.

        celsius: Temperature of gas and steel.

    Attributes:
        work_j: Done on it by all oil that came in, less what it did on oil that went out.

        heat_j: That the gas took from the steel, less what it gave.
    """

    def __init__(self, volume_m3: float, precharge_pa: float, celsius: float) -> None:
        self.volume_m3 = volume_m3
        self.stored_m3 = 0.0
        self.work_j = self.heat_j = 0.0
        self._wall_k = celsius + _KELVIN
        self.charge(precharge_pa)

    @property
    def charged(self) -> bool:
        """Whether there is gas in it at all."""
        return self._gas > 0.0

    def charge(self, precharge_pa: float) -> None:
        """Fill it with gas to a gauge pressure, at the present temperature; it must hold no oil under pressure."""
        self._gas_k = self._wall_k
        absolute_pa = precharge_pa + ATMOSPHERE_PA
        self._gas = absolute_pa * self.volume_m3 / self._wall_k if precharge_pa >= GAS_GONE_PA else 0.0
        self.precharge_pa = precharge_pa
        self._uncharged_j = self._gas_j(self.volume_m3)

    @property
    def energy_j(self) -> float:
        """What oil and gas hold more than when it was charged: the first law's inner energy, by temperature."""
        return self._pressed_j() + self._gas_j(self._gas_m3(self.stored_m3)) - self._uncharged_j

    def warm(self, celsius: float) -> None:
        """Steel and gas come to a temperature."""
        before_k, self._wall_k = self._wall_k, celsius + _KELVIN
        self._gas_k += self._wall_k - before_k
        self.precharge_pa = max(0.0, self._gas * self._wall_k / self.volume_m3 - ATMOSPHERE_PA)

    @property
    def pressure_pa(self) -> float:
        """Gauge pressure of its oil."""
        return self._pressure_pa(self.stored_m3, self._gas_k)

    def stored_at_m3(self, pressure_pa: float) -> float:
        """Oil held at a gauge pressure once the gas has the steel's temperature."""
        full_m3 = self._full_m3
        if not self.charged or pressure_pa <= self.precharge_pa:
            return min(full_m3, pressure_pa * self._stiff_m3_pa)
        return full_m3 + self.volume_m3 - self._gas * self._wall_k / (pressure_pa + ATMOSPHERE_PA)

    def take(self, more_m3: float) -> float:
        """Take oil in, or give it out (less than 0), never more than there is; returns what went in."""
        more_m3 = max(more_m3, -self.stored_m3)
        before_m3 = self._gas_m3(self.stored_m3)
        self.work_j -= self._pressed_j()
        self.stored_m3 += more_m3
        self.work_j += self._pressed_j()
        after_m3 = self._gas_m3(self.stored_m3)
        if after_m3 != before_m3:
            before_pa = self._gas * self._gas_k / before_m3
            after_pa = before_pa * (before_m3 / after_m3) ** _GAMMA
            squeezed_j = (after_pa * after_m3 - before_pa * before_m3) / (_GAMMA - 1.0)
            self.work_j += squeezed_j - ATMOSPHERE_PA * (before_m3 - after_m3)
            self._gas_k *= (before_m3 / after_m3) ** (_GAMMA - 1.0)
            if after_m3 < before_m3:
                self._come_to(min(self._gas_k, self._wall_k))
        return more_m3

    def rest(self, seconds: float) -> None:
        """Let the gas take its heat back from the steel."""
        self._come_to(self._gas_k + (self._wall_k - self._gas_k) * -math.expm1(-seconds / _WARMS_S))

    def _come_to(self, gas_k: float) -> None:
        """Heat passes between gas and steel, the gas keeping its volume."""
        gained_pa = self._gas * (gas_k - self._gas_k) / (gas_m3 := self._gas_m3(self.stored_m3))
        self.heat_j += gained_pa * gas_m3 / (_GAMMA - 1.0)
        self._gas_k = gas_k

    def _pressed_j(self) -> float:
        """Work that brought the line to its pressure, up to where the gas gives."""
        pressed_m3 = min(self.stored_m3, self._full_m3)
        return pressed_m3 * pressed_m3 / self._stiff_m3_pa / 2

    def _gas_j(self, gas_m3: float) -> float:
        """Inner energy of the gas, and the work of the atmosphere that it stands against."""
        return self._gas * self._gas_k / (_GAMMA - 1.0) + ATMOSPHERE_PA * gas_m3

    @property
    def gas_c(self) -> float:
        """Temperature of the gas."""
        return self._gas_k - _KELVIN

    @property
    def _stiff_m3_pa(self) -> float:
        """Oil a pascal while only oil and steel give way."""
        return (_LINE_M3 + (0.0 if self.charged else self.volume_m3)) / BULK_MODULUS_PA

    @property
    def _full_m3(self) -> float:
        """Oil that brings the line to the precharge."""
        return self.precharge_pa * self._stiff_m3_pa if self.charged else math.inf

    def _gas_m3(self, stored_m3: float) -> float:
        return max(_LEAST_GAS * self.volume_m3, self.volume_m3 - max(0.0, stored_m3 - self._full_m3))

    def _pressure_pa(self, stored_m3: float, gas_k: float) -> float:
        if not self.charged or stored_m3 <= self._full_m3:
            return stored_m3 / self._stiff_m3_pa
        return self._gas * gas_k / self._gas_m3(stored_m3) - ATMOSPHERE_PA

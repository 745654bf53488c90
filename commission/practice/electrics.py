"""Battery, cable and pump motor: speed, current and the volts that are left at the unit."""

import math

from commission.practice.condition import Condition
from commission.practice.mechanism import PA_PER_BAR
from commission.sheet import Sheet

_CABLE_OHM = 0.0439
"""0.86 V at 19.6 A, 2.6 V at 60 A."""

_PART_LOAD = (66.0 / 105.0, 12.0 / 19.6)
"""Second point of the motor's load line: pressure and current as shares of the rated ones."""

_NO_LOAD_SHARE = 0.15
_SPOOL_S = 0.1
_INRUSH_S = 0.12


class Electrics:
    """
    Supply and motor of one unit.

    Args:
        sheet: What the unit is.

        condition: Its planted findings.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        self._supply = sheet.supply
        efficiency = condition.volumetric_efficiency or sheet.pump.volumetric_efficiency
        self._rated_m3_s = sheet.pump.displacement_cm3 * 1e-6 * sheet.pump.speed_rpm / 60 * efficiency
        self.rest_v = condition.battery_v
        self.motor_a = 0.0
        self._speed = 0.0
        self._since_start_s = 0.0
        self._powered = False

    @property
    def flow_m3_s(self) -> float:
        """
        What the pump delivers now.

        The motor holds its rated speed down to the nominal voltage and falls in proportion below it.
        """
        return self._rated_m3_s * self._speed * min(1.0, self.rest_v / self._supply.motor_v)

    @property
    def supply_v(self) -> float:
        """Volts at the unit's terminals, after the cable's drop."""
        return self.rest_v - _CABLE_OHM * (self.motor_a + (self._supply.standby_a or 0.0))

    def step(self, seconds: float, *, powered: bool, pressure_pa: float) -> None:
        """Let `seconds` pass with the motor powered or not, against a pressure."""
        if powered and not self._powered:
            self._since_start_s = 0.0
        self._powered = powered
        self._since_start_s += seconds
        target = 1.0 if powered else 0.0
        self._speed = target + (self._speed - target) * math.exp(-seconds / _SPOOL_S)
        if not powered and self._speed < 1e-3:
            self._speed = 0.0
        self.motor_a = self._current_a(pressure_pa) if powered else 0.0

    def _current_a(self, pressure_pa: float) -> float:
        rated_a = self._supply.running_a
        share = pressure_pa / (self._supply.running_at_bar * PA_PER_BAR)
        slope = (1.0 - _PART_LOAD[1]) / (1.0 - _PART_LOAD[0])
        running_a = rated_a * max(_NO_LOAD_SHARE, 1.0 + slope * (share - 1.0))
        inrush_a = max(0.0, self._supply.starting_a - running_a)
        return running_a + inrush_a * math.exp(-self._since_start_s / _INRUSH_S)

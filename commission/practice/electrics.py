"""
Supply, cable and pump motor: speed, current and the volts that are left at the unit.

On direct current one battery feeds motor and control unit. On alternating current the motor has a supply of its own and
the control unit its 24 V; an induction motor keeps its speed until the torque it has left, which goes with the square
of the volts, no longer carries the pump.
"""

import math

from commission.practice.condition import Condition
from commission.practice.mechanism import PA_PER_BAR
from commission.sheet import Sheet

_COPPER_OHM_MM2_M = 0.0183
"""10 mm² of class 2 copper: 1.83 mΩ a metre at 20 °C."""

_WAYS = {"DC": 2.0, "single-phase": 2.0, "three-phase": math.sqrt(3.0)}
"""Metres of core that count, a metre of cable."""

_PART_LOAD = (66.0 / 105.0, 12.0 / 19.6)
"""Second point of a direct current motor's load line: pressure and current as shares of the rated ones."""

_NO_LOAD_SHARE = 0.15
_INDUCTION_NO_LOAD = 0.5
_PULL_OUT = 2.2
_SPOOL_S = 0.1
_INRUSH_S = 0.12
_SINGLE_PHASING = 0.87
_WEAR_AT = 2.0 / 3.0
"""Share of the rated pressure that a worn pump's efficiency is quoted at."""


class Electrics:
    """
    Supply and motor of one unit.

    Args:
        sheet: What the unit is.

        condition: Its planted findings.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        self._supply = sheet.supply
        self.alternating = sheet.supply.phases != "DC"
        new = sheet.pump.volumetric_efficiency
        efficiency = new if condition.volumetric_efficiency is None else condition.volumetric_efficiency
        geometric_m3_s = sheet.pump.displacement_cm3 * 1e-6 * sheet.pump.speed_rpm / 60
        self._rated_m3_s = geometric_m3_s * new
        self._slip_pa = geometric_m3_s * (new - efficiency) / (_WEAR_AT * sheet.supply.running_at_bar * PA_PER_BAR)
        self.rest_v = condition.battery_v
        self.feed_v = sheet.supply.motor_v * condition.supply_factor
        self.phases_reversed = condition.phases_reversed
        self._phase_lost = condition.phase_lost
        length_m, area_mm2 = sheet.supply.cable_m or 12.0, sheet.supply.cable_mm2 or 10.0
        ohm = _WAYS[sheet.supply.phases] * length_m * _COPPER_OHM_MM2_M / area_mm2
        self._cable_ohm = ohm * condition.cable_factor
        self._battery_ohm = condition.battery_ohm
        self.motor_a = 0.0
        self.suction = self.thinness = 1.0
        self._pressure_pa = 0.0
        self._speed = 0.0
        self._since_start_s = 0.0
        self._powered = False

    @property
    def flow_m3_s(self) -> float:
        """What the pump delivers now: what it takes in, less what slips back, which grows with pressure."""
        if self.phases_reversed:
            return 0.0
        slip_m3_s = self._slip_pa * self._pressure_pa * self.thinness
        return max(0.0, self._rated_m3_s * self._turning * self.suction - slip_m3_s * min(1.0, self._turning))

    @property
    def supply_v(self) -> float:
        """Volts at the control unit's terminals, after cable and battery."""
        standby_a = self._supply.standby_a or 0.0
        if self.alternating:
            return self.rest_v - self._battery_ohm * standby_a
        return self.rest_v - (self._cable_ohm + self._battery_ohm) * (self.motor_a + standby_a)

    @property
    def motor_v(self) -> float:
        """Volts at the motor while it draws what it draws."""
        return self.feed_v - self._cable_ohm * self.motor_a if self.alternating else self.supply_v

    def turn_right(self) -> None:
        """Two phases have been swapped, dead and locked."""
        self.phases_reversed = not self.phases_reversed

    def step(self, seconds: float, *, powered: bool, pressure_pa: float) -> None:
        """Let `seconds` pass with the motor powered or not, against a pressure."""
        if powered and not self._powered:
            self._since_start_s = 0.0
        self._powered = powered
        self._pressure_pa = pressure_pa
        self._since_start_s += seconds
        if powered:
            target = 1.0 if self._carries(pressure_pa) else 0.0
            self._speed = target + (self._speed - target) * math.exp(-seconds / _SPOOL_S)
        else:
            self._speed = 0.0  # the pump's load stops it within milliseconds
        self.motor_a = self._current_a(pressure_pa) if powered else 0.0

    @property
    def _turning(self) -> float:
        """Speed against the rated one; a direct current motor holds it down to the nominal voltage."""
        if self.alternating:
            return self._speed
        return self._speed * min(1.0, (self.rest_v - self._battery_ohm * self.motor_a) / self._supply.motor_v)

    def _carries(self, pressure_pa: float) -> bool:
        if not self.alternating:
            return True
        if self._phase_lost:
            return False
        volts = self.feed_v / self._supply.motor_v
        return volts * volts * _PULL_OUT > pressure_pa / (self._supply.running_at_bar * PA_PER_BAR)

    def _current_a(self, pressure_pa: float) -> float:
        rated_a, starting_a = self._supply.running_a, self._supply.starting_a
        share = 0.0 if self.phases_reversed else pressure_pa / (self._supply.running_at_bar * PA_PER_BAR)
        if not self.alternating:
            slope = (1.0 - _PART_LOAD[1]) / (1.0 - _PART_LOAD[0])
            running_a = rated_a * max(_NO_LOAD_SHARE, 1.0 + slope * (share - 1.0))
        elif self._carries(pressure_pa):
            idle = _INDUCTION_NO_LOAD
            running_a = rated_a * math.sqrt(idle * idle + (1.0 - idle * idle) * share * share)
        else:
            return starting_a * (_SINGLE_PHASING if self._phase_lost else self.feed_v / self._supply.motor_v)
        inrush_a = max(0.0, starting_a - running_a)
        return running_a + inrush_a * math.exp(-self._since_start_s / _INRUSH_S)

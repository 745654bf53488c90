"""
Warmth: air through the day, oil in the tank, oil trapped in the cylinder, heater and thermostat.

The air stands still at night, warms from six to noon, keeps that until six in the evening and falls back by nine. Tank
and cylinder follow it with their own time constants; the sun adds to what stands in it.
"""

import math

from commission.practice.condition import Condition
from commission.sheet import Sheet

_TANK_S = 10_000.0
_HEATED_TANK_S = 12_400.0
_HEATED_TANK_J_K = 31_000.0
"""A tank with a heater: 2.5 W/K to the air, so that 150 W bring it from -20 to +5 °C in 1.8 h."""

_TRAPPED_S = 900.0
_MOTOR_C_S = 0.004
_DAY_S = 86_400.0


def of_the_day(hour: float) -> float:
    """Where the air stands between the night's (-1) and the afternoon's (1) temperature, by the hour."""
    hour %= 24.0
    if 6.0 <= hour < 12.0:
        return -math.cos(math.pi * (hour - 6.0) / 6.0)
    if 12.0 <= hour < 18.0:
        return 1.0
    if 18.0 <= hour < 21.0:
        return math.cos(math.pi * (hour - 18.0) / 3.0)
    return -1.0


def sunshine(hour: float) -> float:
    """Share of the noon sun, by the hour."""
    return max(0.0, math.sin(math.pi * (hour % 24.0 - 6.0) / 12.0))


class Climate:
    """
    Temperatures of one unit.

    Args:
        sheet: Heater and thermostat.

        condition: Temperatures at the start, day and sun.
    """

    def __init__(self, sheet: Sheet, condition: Condition) -> None:
        self._surroundings = sheet.environment
        self._swing_c, self._sun_c = condition.day_swing_c, condition.sun_c
        self._start_s = condition.start_hour * 3600
        self.heater_dead = condition.heater_dead
        self.heating = False
        self.oil_c = condition.oil_c
        self.air_c = condition.oil_c + self._swing_c * of_the_day(condition.start_hour)
        self.trapped_c = self.air_c + self._sun_c * sunshine(condition.start_hour)
        self._heated = sheet.environment.heater_w is not None

    @property
    def heater_w(self) -> float:
        """What the heater draws now."""
        return (self._surroundings.heater_w or 0.0) if self.heating and not self.heater_dead else 0.0

    @property
    def oil_too_cold(self) -> bool:
        """Whether the unit may not start its pump."""
        least_c = self._surroundings.pump_inhibited_below_c
        return least_c is not None and self.oil_c < least_c

    def hour(self, now_s: float) -> float:
        """The hour of the day at a unit time."""
        return (self._start_s + now_s) % _DAY_S / 3600

    def step(self, seconds: float, now_s: float, ambient_c: float, *, turning: bool, fed: bool) -> None:
        """
        Let `seconds` pass.

        Args:
            seconds: How long.

            now_s: Unit time.

            ambient_c: Mean air temperature of the day.

            turning: Whether the motor turns.

            fed: Whether the heater has its supply.
        """
        if self._swing_c or self._sun_c:
            hour = self.hour(now_s)
            self.air_c = ambient_c + self._swing_c * of_the_day(hour)
            around_c = self.air_c + self._sun_c * sunshine(hour)
        else:
            self.air_c = around_c = ambient_c
        self._switch(fed)
        tank_s = _HEATED_TANK_S if self._heated else _TANK_S
        self.oil_c += (self.air_c - self.oil_c) * seconds / tank_s + _MOTOR_C_S * seconds * turning
        self.oil_c += self.heater_w / _HEATED_TANK_J_K * seconds
        self.trapped_c += (around_c - self.trapped_c) * seconds / _TRAPPED_S

    def _switch(self, fed: bool) -> None:  # noqa: FBT001  # one supply, on or off
        on_c, off_c = self._surroundings.heater_on_c, self._surroundings.heater_off_c
        if not fed or on_c is None or off_c is None:
            self.heating = False
        elif self.oil_c <= on_c:
            self.heating = True
        elif self.oil_c >= off_c:
            self.heating = False

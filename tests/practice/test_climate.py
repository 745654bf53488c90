"""Tests of warmth: the day, the heater, the trapped oil."""

import pytest

from commission.practice.climate import Climate, of_the_day, sunshine
from commission.practice.condition import Condition
from tests.practice.made import BDV


def lived(climate: Climate, hours: float, ambient_c: float, *, fed: bool = True) -> None:
    """Let hours pass."""
    for number in range(round(hours * 360)):
        climate.step(10.0, number * 10.0, ambient_c, turning=False, fed=fed)


def test_a_day_is_warm_in_the_afternoon_and_falls_in_the_evening() -> None:
    """Nothing changes at night or in the afternoon; all of the fall is between six and nine."""
    assert of_the_day(2) == of_the_day(23) == -1.0
    assert of_the_day(15) == 1.0
    assert of_the_day(18) == pytest.approx(1.0)
    assert of_the_day(21) == pytest.approx(-1.0)
    assert sunshine(12) == pytest.approx(1.0)
    assert sunshine(0) == 0.0


def test_the_heater_takes_its_time() -> None:
    """150 W bring the oil from -20 to +5 °C in 1.8 h (trade guide 4.33)."""
    climate = Climate(BDV, Condition(oil_c=-20.0))
    hours = 0.0
    while climate.oil_c < 5.0:
        lived(climate, 0.05, -20.0)
        hours += 0.05
        assert climate.heater_w == 150.0
    assert hours == pytest.approx(1.86, abs=0.1)


def test_the_thermostat_switches() -> None:
    """On below 5 °C, off above 12; and never without its supply or with a wire on the wrong terminal."""
    climate = Climate(BDV, Condition(oil_c=0.0))
    lived(climate, 6.0, 0.0)
    assert 5.0 <= climate.oil_c <= 12.1
    cold = Climate(BDV, Condition(oil_c=-6.0, heater_dead=True))
    lived(cold, 2.0, -6.0)
    assert (cold.heating, cold.heater_w, cold.oil_c) == (True, 0.0, -6.0)
    assert cold.oil_too_cold
    off = Climate(BDV, Condition(oil_c=0.0))
    lived(off, 1.0, 0.0, fed=False)
    assert not off.heating


def test_trapped_oil_follows_air_and_sun() -> None:
    """By noon it is above the air; an hour after the evening's fall it is within 2 °C of it."""
    climate = Climate(BDV, Condition(oil_c=20.0, day_swing_c=9.0, sun_c=8.0, start_hour=8.0))
    for number in range(4 * 360):
        climate.step(10.0, number * 10.0, 20.0, turning=False, fed=True)
    assert climate.trapped_c > climate.air_c + 4.0
    assert climate.hour(4 * 3600) == pytest.approx(12.0)

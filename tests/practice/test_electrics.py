"""Motor current, dip and speed of XV-1101 (trade guide 4.16, 4.17 and 3.3, computed there)."""

import pytest

from commission.practice.condition import Condition
from commission.practice.electrics import Electrics
from commission.sheet import Sheet


def running(sheet: Sheet, bar: float, seconds: float = 3.0, **condition: float) -> Electrics:
    """Electrics with the motor powered for some seconds against a pressure."""
    electrics = Electrics(sheet, Condition(**condition))  # type: ignore[arg-type]  # names checked by Condition
    for _ in range(round(seconds / 0.01)):
        electrics.step(0.01, powered=True, pressure_pa=bar * 1e5)
    return electrics


@pytest.mark.parametrize(("bar", "ampere"), [(66.0, 12.0), (105.0, 19.6)])
def test_current_follows_pressure(sheet: Sheet, bar: float, ampere: float) -> None:
    """12 A at 66 bar, 19.6 A at 105 bar."""
    assert running(sheet, bar).motor_a == pytest.approx(ampere, abs=0.05)


def test_start_draws_sixty_ampere_and_dips_the_supply(sheet: Sheet) -> None:
    """The first instant takes nearly 60 A and drops nearly 2.6 V; a dip of less than 15 % of 24 V."""
    rest_v = Electrics(sheet, Condition()).supply_v
    starting = running(sheet, 0.0, seconds=0.01)
    assert 50.0 < starting.motor_a <= 60.0
    assert 2.0 < rest_v - starting.supply_v < 2.7


def test_cable_drop_while_running(sheet: Sheet) -> None:
    """0.86 V at 19.6 A."""
    rest_v = Electrics(sheet, Condition()).supply_v
    assert rest_v - running(sheet, 105.0).supply_v == pytest.approx(0.86, abs=0.01)


def test_flow_at_rated_speed(sheet: Sheet) -> None:
    """1.00 cm³ at 1750 a minute and 0.92 is 1.61 L/min."""
    assert running(sheet, 70.0).flow_m3_s * 60_000 == pytest.approx(1.61, abs=0.001)


def test_low_volts_slow_the_pump_in_proportion(sheet: Sheet) -> None:
    """At 20.4 V the stroke of 146 s takes 172 s."""
    low, full = running(sheet, 70.0, battery_v=20.4), running(sheet, 70.0)
    assert 146.3 * full.flow_m3_s / low.flow_m3_s == pytest.approx(172, abs=0.5)


def test_worn_pump(sheet: Sheet) -> None:
    """Volumetric efficiency 0.70 instead of 0.92 takes 192 s."""
    worn, new = running(sheet, 70.0, volumetric_efficiency=0.70), running(sheet, 70.0)
    assert 146.3 * new.flow_m3_s / worn.flow_m3_s == pytest.approx(192, abs=0.5)


def test_stopped_motor_draws_and_delivers_nothing(sheet: Sheet) -> None:
    """Switched off, the current is gone at once and the flow within a second."""
    electrics = running(sheet, 70.0)
    electrics.step(1.0, powered=False, pressure_pa=70e5)
    assert electrics.motor_a == 0.0
    assert electrics.flow_m3_s == 0.0

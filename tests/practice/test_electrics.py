"""Motor current, dip and speed of XV-1101 (trade guide 4.16, 4.17 and 3.3, computed there)."""

import pytest

from commission.practice.condition import Condition
from commission.practice.electrics import Electrics
from commission.sheet import Sheet
from tests.practice.made import BDV, FCV


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


@pytest.mark.parametrize(("name", "bar", "ampere"), [("FCV", 105.0, 2.26), ("BDV", 90.0, 6.1)])
def test_running_current_on_alternating_supplies(name: str, bar: float, ampere: float) -> None:
    """2.26 A of three phases at 105 bar, 6.1 A of one at 90 (trade guide 10.1); half of that without load."""
    unit = {"FCV": FCV, "BDV": BDV}[name]
    assert running(unit, bar).motor_a == pytest.approx(ampere, rel=0.01)
    assert running(unit, 0.0).motor_a == pytest.approx(ampere / 2, rel=0.01)


@pytest.mark.parametrize("sheet_of_unit", [FCV, BDV], ids=["FCV", "BDV"])
def test_flow_of_alternating_units(sheet_of_unit: Sheet) -> None:
    """5.97 and 2.40 L/min, whatever the control unit's 24 V are."""
    expected = {"FCV-2204": 5.97, "BDV-3307": 2.40}[sheet_of_unit.identity.tag]
    assert running(sheet_of_unit, 70.0, battery_v=20.0).flow_m3_s * 60_000 == pytest.approx(expected, rel=0.005)


def test_a_weak_alternating_supply_stalls_under_load_only() -> None:
    """Torque goes with the square of the volts: at 60 % it still turns idle, and stalls at rated pressure."""
    weak = {"supply_factor": 0.6}
    assert running(FCV, 0.0, **weak).flow_m3_s > 0.0
    stalled = running(FCV, 105.0, **weak)
    assert stalled.flow_m3_s < 1e-9
    assert stalled.motor_a > 2 * FCV.supply.running_a


def test_control_volts_do_not_feel_an_alternating_motor() -> None:
    """Its start dips the motor's own supply, not the control unit's."""
    starting = running(FCV, 0.0, seconds=0.01)
    assert starting.supply_v == pytest.approx(24.37)
    assert starting.motor_v < FCV.supply.motor_v - 1.0


def test_swapping_two_phases_turns_it_round() -> None:
    """Reversed there is no flow and little current; swapped, dead and locked, there is."""
    turned = running(FCV, 50.0, phases_reversed=True)
    assert turned.flow_m3_s == 0.0
    assert turned.motor_a < FCV.supply.running_a
    turned.turn_right()
    turned.step(1.0, powered=True, pressure_pa=50e5)
    assert turned.flow_m3_s > 0.0


def test_a_worn_pump_slips_more_under_pressure_and_when_warm(sheet: Sheet) -> None:
    """The same pump loses twice as much at twice the pressure, and more with thin oil."""
    new = running(sheet, 30.0).flow_m3_s
    at_30, at_60 = (running(sheet, bar, volumetric_efficiency=0.7) for bar in (30.0, 60.0))
    assert new - at_60.flow_m3_s == pytest.approx(2 * (new - at_30.flow_m3_s), rel=0.01)
    before = at_60.flow_m3_s
    at_60.thinness = 2.0
    assert at_60.flow_m3_s < before

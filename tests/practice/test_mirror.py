"""Tests of the unit that oil closes and the spring opens: BDV-3307 as a technician meets it."""

import pytest

from commission.practice.mirror import turned_inputs, turned_order, turned_word
from commission.practice.orders import Order, Refused
from tests.practice.made import BDV, unit_of, wait


def test_turning_twice_is_nothing() -> None:
    """Inputs, orders and words come back as they were."""
    seen = unit_of(BDV, "closed").inputs()
    assert turned_inputs(turned_inputs(seen)) == seen
    assert turned_inputs(seen).open_limit
    assert {turned_order(turned_order(order)) for order in Order} == set(Order)
    assert (turned_word("open"), turned_word("stopped")) == ("closed", "stopped")


def test_opening_follows_the_reference_curve() -> None:
    """The spring opens it: travel against time from first motion, within 2 % of 10.0 s (trade guide 10.3)."""
    points = {10: 0.79, 20: 1.60, 30: 2.45, 40: 3.33, 50: 4.26, 60: 5.25, 70: 6.30, 80: 7.43, 90: 8.66, 100: 10.0}
    unit = unit_of(BDV, "closed")
    unit.order(Order.OPEN, remote=True)
    wait(unit, lambda truth: truth.travel_pct > 0.0, step_s=0.05)
    begun_s = unit.now_s - 0.025
    for travel_pct, seconds in points.items():
        wait(unit, lambda truth, pct=travel_pct: truth.travel_pct >= pct - 1e-6, step_s=0.05)  # type: ignore[misc]
        assert unit.now_s - begun_s == pytest.approx(seconds, abs=0.2)


def test_closing_takes_the_pump() -> None:
    """From the command to the closed limit 32.4 s; 27 bar at the start, the motor stops at 110 bar."""
    unit = unit_of(BDV, "open")
    unit.order(Order.CLOSE, remote=True)
    assert wait(unit, lambda truth: truth.closed_limit) == pytest.approx(32.4, rel=0.02)
    wait(unit, lambda truth: not truth.pump_on)
    assert unit.truth().pressure_bar == pytest.approx(110.0, abs=0.5)
    assert unit.truth().wanted == "closed"
    assert unit.truth().alarms == ()


def test_at_design_difference_it_opens_within_its_limit() -> None:
    """11.2 s of travel against the whole load (trade guide 10.1)."""
    unit = unit_of(BDV, "closed", difference_bar=72.4)
    unit.order(Order.OPEN, remote=True)
    wait(unit, lambda truth: truth.travel_pct > 0.0, step_s=0.05)
    assert wait(unit, lambda truth: truth.travel_pct > 99.999, step_s=0.05) == pytest.approx(11.2, rel=0.02)


@pytest.mark.parametrize("cause", ["esd", "power"])
def test_it_fails_open(cause: str) -> None:
    """The ESD loop or the control supply gone: the spring opens it, and venting begins."""
    unit = unit_of(BDV, "closed")
    if cause == "esd":
        unit.side.esd_button_pressed = True
    else:
        unit.side.control_supply = False
    wait(unit, lambda truth: truth.travel_pct > 99.9, limit_s=15.0)


def test_cold_oil_inhibits_the_pump_not_the_spring() -> None:
    """Below -5 °C no start and an alarm; the spring stroke stays free."""
    unit = unit_of(BDV, "open", oil_c=-6.0, heater_dead=True)
    unit.order(Order.CLOSE, remote=True)
    unit.advance(5.0)
    assert not unit.truth().pump_on
    assert "alarm_oil_cold" in unit.truth().alarms
    closed = unit_of(BDV, "closed", oil_c=-6.0, heater_dead=True)
    closed.order(Order.OPEN, remote=True)
    wait(closed, lambda truth: truth.travel_pct > 99.9, limit_s=20.0)


def test_a_travel_time_out_is_that_of_the_spring() -> None:
    """A needle at a twentieth of its area: alarm after the 18 s of the sheet."""
    unit = unit_of(BDV, "closed", orifice_factor=0.05)
    unit.order(Order.OPEN, remote=True)
    assert wait(unit, lambda truth: "alarm_travel" in truth.alarms) == pytest.approx(18.0, abs=0.2)


def test_a_partial_stroke_is_refused() -> None:
    """A normally closed vent has none."""
    with pytest.raises(Refused):
        unit_of(BDV, "closed").order(Order.PARTIAL_STROKE, remote=True)

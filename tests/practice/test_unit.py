"""The whole unit by its own scan: strokes as a technician times them."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.practice.orders import Order
from commission.practice.unit import PracticeUnit
from commission.sheet import End, Sheet
from tests.practice.made import SHEET, MakeUnit, Until


def test_full_stroke_times(make_unit: MakeUnit, until: Until) -> None:
    """From the command: open limit within 2 % of 146.5 s, motor stops near 152 s, closed limit within 2 % of 8.0 s."""
    unit = make_unit()
    unit.side.bleeds["BV-1"] = 1.0
    unit.advance(5.0)
    unit.side.bleeds["BV-1"] = 0.0
    unit.order(Order.OPEN, remote=True)
    dead_s = until(unit, lambda truth: truth.travel_pct > 0.05)
    opening_s = dead_s + until(unit, lambda truth: truth.open_limit)
    run_s = opening_s + until(unit, lambda truth: not truth.pump_on)
    unit.order(Order.CLOSE, remote=True)
    closing_s = until(unit, lambda truth: truth.closed_limit)
    assert dead_s == pytest.approx(0.5, abs=0.15)
    assert opening_s == pytest.approx(146.5, rel=0.02)
    assert run_s == pytest.approx(152.0, rel=0.02)
    assert closing_s == pytest.approx(8.0, rel=0.02)


def test_partial_stroke_times(make_unit: MakeUnit, until: Until) -> None:
    """15 % out in 10.0 s from first motion, back in 28 s; the accumulator empties first, for some 1.4 s."""
    unit = make_unit("open")
    unit.order(Order.PARTIAL_STROKE, remote=True)
    dead_s = until(unit, lambda truth: truth.travel_pct < 99.99)
    out_s = until(unit, lambda truth: truth.partial_phase == "back")
    back_s = until(unit, lambda truth: truth.travel_pct > 99.99)
    assert 1.0 < dead_s < 1.8
    assert out_s == pytest.approx(10.0, rel=0.03)
    assert back_s == pytest.approx(28.0, rel=0.05)
    assert unit.truth().alarms == ()


def test_cut_out_and_fluid(make_unit: MakeUnit) -> None:
    """Open at rest: 125 bar, and the sight glass 4.05 L below its reference."""
    truth = make_unit("open").truth()
    assert truth.pressure_bar == pytest.approx(125.0)
    assert truth.tank_l == pytest.approx(11.0 - 4.05, abs=0.06)


def test_starts_and_run_time_are_counted(make_unit: MakeUnit, until: Until) -> None:
    """One opening adds one start and its run time."""
    unit = make_unit()
    starts, run_s = unit.starts_total, unit.run_s_total
    unit.order(Order.OPEN, remote=True)
    until(unit, lambda truth: truth.pump_on)
    taken_s = until(unit, lambda truth: not truth.pump_on)
    assert unit.starts_total == starts + 1
    assert unit.run_s_total - run_s == pytest.approx(taken_s, abs=0.1)


def test_readings_never_stand_still(make_unit: MakeUnit) -> None:
    """Supply, travel and pressure show noise about the truth, within their half-widths; H3 asks at most 0.2 % p-p."""
    unit = make_unit("open")
    volts, travels = [], []
    for _ in range(250):
        unit.advance(0.02)
        volts.append(unit.readings()["supply_voltage"])
        travels.append(unit.readings()["travel"] * 100)
    assert len(set(volts)) > 20
    assert max(volts) - min(volts) <= 0.041
    assert 0.05 < max(travels) - min(travels) <= 0.11
    assert sum(travels) / len(travels) == pytest.approx(100.0, abs=0.01)


def test_same_seed_same_readings(make_unit: MakeUnit) -> None:
    """A run repeats, however it is cut into steps and however often it is read."""
    first, second = make_unit(), make_unit()
    first.order(Order.OPEN, remote=True)
    second.order(Order.OPEN, remote=True)
    first.advance(4.0)
    for _ in range(100):
        second.advance(0.04)
        second.readings()
    assert first.readings() == second.readings()


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(0.0, 0.3), min_size=1, max_size=40))
def test_time_is_carried_over(steps: list[float]) -> None:
    """However unit time is cut, no scan is lost or gained beyond the last unfinished one."""
    sheet = SHEET
    unit = PracticeUnit(sheet, start=End.CLOSED)
    for seconds in steps:
        unit.advance(seconds)
    assert 0.0 <= sum(steps) - unit.now_s < 0.02 + 1e-6


def test_oil_stays_in_the_unit_over_a_visit(make_unit: MakeUnit) -> None:
    """Open, partial stroke, close: not a drop made or lost."""
    unit = make_unit()
    before_l = unit.truth().oil_l
    for order, seconds in ((Order.OPEN, 160), (Order.PARTIAL_STROKE, 60), (Order.CLOSE, 20)):
        unit.order(order, remote=True)
        unit.advance(seconds)
    assert unit.truth().oil_l == pytest.approx(before_l, rel=1e-11)
    assert unit.truth().closed_limit


def test_leak_makes_regular_restarts(make_unit: MakeUnit) -> None:
    """
    77 mL between cut-out and cut-in at 19 mL/h is a start each 4 h (trade guide 4.12); here 760 mL/h, each 6 min.

    The motor's run-out after cut-out adds some 3 mL, and the leak is quoted at 115 bar.
    """
    unit = make_unit("open", dump_leak_ml_h=760.0)
    at_s: list[float] = []
    starts = unit.starts_total
    while len(at_s) < 3:
        unit.advance(0.2)
        if unit.starts_total != starts:
            starts = unit.starts_total
            at_s.append(unit.now_s)
    assert at_s[2] - at_s[1] == pytest.approx(77 / 760 * 3600, rel=0.07)


def test_stepping_is_cheap(make_unit: MakeUnit) -> None:
    """A closing in real time takes less than 5 % of a core; measured in processor time."""
    unit = make_unit("open")
    unit.order(Order.CLOSE, remote=True)
    begun = time.process_time()
    for _ in range(800):
        unit.advance(0.01)
        unit.readings()
    assert (time.process_time() - begun) / 8.0 < 0.05


def test_sheet_is_that_of_the_unit(sheet: Sheet, make_unit: MakeUnit) -> None:
    """The identity reading is the sheet's code."""
    assert make_unit().readings()["identity"] == sheet.identity.code

"""Energy: what the pump put in is held or has become heat, over whole strokes of every kind of unit."""

import pytest

from commission.practice.condition import Condition
from commission.practice.double_acting import DoubleActing
from commission.practice.hydraulics import Hydraulics
from commission.practice.ledger import Ledger
from commission.practice.orders import Order
from commission.practice.outlets import Ways
from commission.sheet import End
from tests.practice.made import SHEETS, unit_of

ROUNDING = 1e-10
"""Of the pump's work, over some ten thousand steps; measured: 5e-14, and 3e-12 where a leap is caught."""


def test_an_entry_that_is_forgotten_leaves_the_sum_open() -> None:
    """100 J in, 60 held and 30 rubbed leave 10 open; warmth counts in, a caught leap out."""
    assert Ledger(pumped_j=100.0, rubbed_j=30.0).open_j(60.0) == pytest.approx(10.0)
    assert Ledger(pumped_j=90.0, warmed_j=10.0, rubbed_j=30.0, stopped_j=10.0).open_j(60.0) == 0.0


@pytest.mark.parametrize("tag", ["XV-1101", "BDV-3307"])
@pytest.mark.parametrize(
    "condition",
    [
        {},
        {"friction_factor": 1.45, "precharge_bar": 50.0},
        {"dump_leak_ml_h": 5000.0, "spring_factor": 0.9},
        {"stiction_share": 0.5, "free_air_ml": 100.0},
        {"gall_factor": 2.5, "breakaway_factor": 2.0},
    ],
    ids="-".join,
)
def test_energy_balance_of_strokes(tag: str, condition: dict[str, float]) -> None:
    """Pump work against spring, oil, gas, friction and throttling, each by itself: closed to rounding."""
    sheet = SHEETS[tag]
    at_rest, away = ("closed", Order.OPEN) if sheet.actuator.pressure_opens else ("open", Order.CLOSE)
    unit = unit_of(sheet, at_rest, 7, **condition)
    oil = unit.hydraulics
    assert isinstance(oil, Hydraulics)
    before_j = oil.energy_j
    unit.order(away, remote=True)
    unit.advance(160.0 if tag == "XV-1101" else 45.0)
    work_j = oil.ledger.pumped_j
    assert work_j > 1000.0
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < ROUNDING * work_j
    unit.order(Order.CLOSE if away is Order.OPEN else Order.OPEN, remote=True)
    unit.advance(20.0)
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < ROUNDING * work_j
    assert oil.ledger.rubbed_j > 0.0
    assert (oil.ledger.stopped_j > 1.0) is ("stiction_share" in condition or "breakaway_factor" in condition)


DOUBLE = [
    {},
    {"friction_factor": 2.0, "precharge_bar": 50.0},
    {"precharge_bar": 0.0, "bypass_mm2": 0.5},
    {"seal_leak_ml_h": 5000.0, "check_leak_ml_h": 2000.0, "external_leak_ml_h": 500.0},
    {"gall_factor": 2.5, "stiction_share": 0.5, "return_back_pressure_bar": 3.0},
]


@pytest.mark.parametrize("tag", ["FCV-2204", "PCV-4410"])
@pytest.mark.parametrize("condition", DOUBLE, ids="-".join)
def test_energy_balance_of_a_double_acting_unit(tag: str, condition: dict[str, float]) -> None:
    """To both ends, pumping against the relief, warmed, shut off, bled: after each, closed to rounding."""
    sheet = SHEETS[tag]
    oil = DoubleActing(sheet, Condition(**condition))  # type: ignore[arg-type]  # names checked by Condition
    oil.start(End.OPEN, sheet.pump.cut_out_bar * 1e5)
    before_j = oil.energy_j
    story = [
        (Ways(spool=1.0), 2000),
        (Ways(spool=-1.0, pump_m3_s=1e-4, pumping=True), 2000),
        (Ways(pump_m3_s=1e-4, pumping=True), 3000),
        (Ways(spool=0.3), 400),
        (Ways(hand_m3_s=5e-6), 200),
        (Ways(cylinder_bleed=1.0, cylinder_b_bleed=0.06, hand_bleed=1.0), 400),
        (Ways(accumulator_bleed=1.0), 400),
    ]
    for number, (ways, steps) in enumerate(story):
        oil.warm(20.0 + 3 * number)
        oil.isolate_accumulator(number == 4)
        for _ in range(steps):
            oil.step(0.005, ways)
        assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < ROUNDING * 1e4, number
    assert min(oil.ledger.pumped_j, oil.ledger.throttled_j) > 1000.0
    assert oil.ledger.rubbed_j > 0.0


def test_a_double_acting_unit_s_gas_takes_heat_from_the_steel() -> None:
    """After an emergency stroke, cold gas presses again: the heat that it takes is entered, and nothing else."""
    oil = DoubleActing(SHEETS["FCV-2204"], Condition())
    oil.start(End.OPEN, 105e5)
    for _ in range(1700):
        oil.step(0.005, Ways(spool=1.0))
    before_pa, before_j, before = oil.system_pa, oil.energy_j, oil.ledger.warmed_j
    for _ in range(300):
        oil.step(1.0, Ways())
    assert oil.system_pa > before_pa + 1e5
    assert oil.ledger.warmed_j - before == pytest.approx(oil.energy_j - before_j, rel=1e-6)


def test_a_steady_flow_is_worth_its_pressure() -> None:
    """Where as much leaves as comes in, hardly any oil is left over to divide by: no step may add noise for work."""
    oil = unit_of(SHEETS["XV-1101"]).hydraulics
    oil.isolate_accumulator(True)
    ways = Ways(hand_m3_s=5e-6, dump_open=True)
    step_s, put_in_j, last_j = 0.01, 0.0, oil.ledger.pumped_j
    for _ in range(400):
        oil.step(step_s, ways)
        put_in_j, last_j = oil.ledger.pumped_j - last_j, oil.ledger.pumped_j
    assert put_in_j == pytest.approx(oil.pressure_pa * 5e-6 * step_s, rel=1e-3)

"""Energy: what the pump put in is held or has become heat, over whole strokes of both spring-return units."""

import pytest

from commission.practice.hydraulics import Hydraulics
from commission.practice.ledger import Ledger
from commission.practice.onboard import Order
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

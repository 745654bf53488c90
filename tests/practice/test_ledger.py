"""Energy: what the pump put in is held or has become heat, over whole strokes of both spring-return units."""

import pytest

from commission.practice.hydraulics import Hydraulics
from commission.practice.ledger import Ledger
from commission.practice.onboard import Order
from tests.practice.made import SHEETS, unit_of


def test_an_entry_that_is_forgotten_leaves_the_sum_open() -> None:
    """100 J in, 60 held and 30 rubbed leave 10 open."""
    assert Ledger(pumped_j=100.0, rubbed_j=30.0).open_j(60.0) == pytest.approx(10.0)


@pytest.mark.parametrize("tag", ["XV-1101", "BDV-3307"])
@pytest.mark.parametrize("condition", [{}, {"friction_factor": 1.45}, {"dump_leak_ml_h": 5000.0, "spring_factor": 0.9}])
def test_energy_balance_of_strokes(tag: str, condition: dict[str, float]) -> None:
    """Pump work against spring, oil, gas, friction and throttling, each by itself: closed to 0.5 % of the work."""
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
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < 0.005 * work_j
    unit.order(Order.CLOSE if away is Order.OPEN else Order.OPEN, remote=True)
    unit.advance(20.0)
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < 0.005 * work_j
    assert oil.ledger.rubbed_j > 0.0

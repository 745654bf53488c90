"""Tests of which machine and which control unit a sheet asks for."""

import pytest
from msgspec.structs import replace

from commission.practice.condition import HEALTHY, Condition
from commission.practice.double_acting import DoubleActing
from commission.practice.follower import Follower
from commission.practice.hydraulics import Hydraulics
from commission.practice.machine import board_of, machine_of
from commission.practice.mechanism import NotServed
from commission.practice.onboard import Onboard
from commission.practice.orders import Order
from commission.practice.settings import settings_of
from tests.practice.made import BDV, FCV, SHEET, unit_of


def test_each_kind_of_unit_has_its_machine() -> None:
    """A spring wants one side of oil, none wants two and a control unit that follows."""
    assert isinstance(machine_of(SHEET, HEALTHY), Hydraulics)
    assert isinstance(machine_of(BDV, HEALTHY), Hydraulics)
    assert isinstance(machine_of(FCV, HEALTHY), DoubleActing)
    assert isinstance(board_of(FCV, settings_of(FCV, HEALTHY), HEALTHY), Follower)
    assert isinstance(board_of(BDV, settings_of(BDV, HEALTHY), HEALTHY), Onboard)


def test_the_pressure_switch_is_as_found() -> None:
    """A cut-out that somebody set to 120 bar is where the pump stops, whatever the sheet says."""
    unit = unit_of(BDV, "open", cut_out_bar=120.0)
    unit.order(Order.CLOSE, remote=True)
    unit.advance(45.0)
    assert not unit.truth().pump_on
    assert unit.truth().pressure_bar == pytest.approx(120.0, abs=1.5)


@pytest.mark.parametrize("missing", ["accumulator", "modulating"])
def test_what_is_missing_is_named(missing: str) -> None:
    """The tag, and what the sheet lacks."""
    bare = replace(FCV, **{missing: None})
    with pytest.raises(NotServed, match=f"FCV-2204: the sheet needs .*{missing}"):
        board_of(bare, settings_of(bare, HEALTHY), Condition())

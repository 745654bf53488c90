"""Tests of what an accumulator still does, and of oil shut in."""

import pytest

from commission.engineering.stored import band_m3, cooling_to_restart_k, emergency, shut_in_m3, tank_swing_m3
from commission.sheet.model import End
from tests.engineering.units import changed_unit, unit_of


def test_an_emergency_stroke_from_the_worst_legal_charge() -> None:
    """FCV-2204 from cut-in: one whole stroke, with margin; from cut-out two or more."""
    unit = unit_of("fcv-2204")
    worst, best = emergency(unit, unit.cut_in_pa), emergency(unit, unit.cut_out_pa)
    assert worst is not None
    assert best is not None
    assert worst.towards is End.CLOSED
    assert worst.strokes == 1
    assert best.strokes > worst.strokes
    assert best.factor > worst.factor > 1.2


def test_lost_nitrogen_leaves_less_at_the_end() -> None:
    """50 bar instead of 76.5: the pressure falls further; 20 bar: still oil, but no force."""
    charged = emergency(unit_of("fcv-2204"), 85e5)
    weak = emergency(changed_unit("fcv-2204", "accumulator", precharge_bar=50.0), 85e5)
    assert charged is not None
    assert weak is not None
    assert weak.end_pa > charged.end_pa - 10e5
    empty = emergency(changed_unit("fcv-2204", "accumulator", precharge_bar=84.0), 85e5)
    assert empty is None  # nearly no oil in it


def test_only_an_accumulator_that_drives_makes_a_stroke() -> None:
    """The others hold pressure up."""
    assert emergency(unit_of("xv-1101"), 105e5) is None
    assert emergency(unit_of("bdv-3307"), 90e5) is None


def test_oil_between_the_switches() -> None:
    """Gas and the oil's own compression; without an accumulator only the latter."""
    gas, oil = band_m3(unit_of("xv-1101"))
    assert (gas * 1e6, oil * 1e6) == pytest.approx((71.9, 5.61), abs=0.05)
    bare = changed_unit("xv-1101", "pump")
    assert band_m3(bare)[1] == pytest.approx(oil)
    assert shut_in_m3(unit_of("fcv-2204")) == pytest.approx(0.382e-3, rel=1e-3)


def test_cooling_and_tank() -> None:
    """Without its gas a unit starts after two degrees; the tank gives up cylinder and accumulator."""
    unit = unit_of("bdv-3307")
    assert cooling_to_restart_k(unit, with_gas=False) == pytest.approx(2.04, abs=0.01)
    assert cooling_to_restart_k(unit) > 50
    assert tank_swing_m3(unit) > unit.drive.stroke_m3(End.CLOSED)

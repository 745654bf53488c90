"""Tests of the worst day: what is fitted from today's stroke, and what it is carried to."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.engineering.moving import Conditions
from commission.engineering.worst_day import Measured, WorstDay, friction_share, sentence, worst_day
from commission.sheet.model import End
from tests.engineering.units import changed_unit, mover_of, unit_of

PLACES = (0.25, 0.5, 0.75)


def stroke_of(towards: End, friction: float = 1.0, area: float = 1.0, tag: str = "xv-1101") -> Measured:
    """A stroke as it would be measured on a unit with so many times its friction and its way out."""
    unit = unit_of(tag)
    share = unit.empty_share * friction
    conditions = Conditions(load_share=share, area_factor=area, flow_factor=area)
    stroke = mover_of(tag).stroke(towards, conditions)
    assert stroke is not None
    pressures = tuple((place, unit.drive.moving_pa(place, towards, share)) for place in PLACES)
    return Measured(towards=towards, time_s=stroke.time_s, pressures_pa=pressures)


def carried(measured: Measured, tag: str = "xv-1101") -> WorstDay:
    """Its worst day."""
    found = worst_day(unit_of(tag), measured)
    assert found is not None
    return found


@settings(max_examples=15)
@given(friction=st.floats(0.2, 2.4))
def test_friction_comes_back_from_the_pressures(friction: float) -> None:
    """Both ways: a stroke with so many times the friction is seen to have it."""
    for towards in (End.OPEN, End.CLOSED):
        share = friction_share(unit_of("xv-1101"), stroke_of(towards, friction))
        assert share == pytest.approx(0.55 * friction, rel=1e-9)


@settings(max_examples=5)
@given(area=st.floats(0.3, 1.5))
def test_a_needle_is_told_from_friction(area: float) -> None:
    """The pressures say the friction, the time then says the way out: half the area, twice the worst time."""
    worst = carried(stroke_of(End.CLOSED, area=area))
    assert worst.friction == pytest.approx(1.0, rel=1e-9)
    reference = carried(stroke_of(End.CLOSED))
    assert worst.stroke.time_s > reference.stroke.time_s * min(1.0, 0.9 / area)
    assert (worst.stroke.time_s >= reference.stroke.time_s) == (area <= 1.0)


@settings(max_examples=5)
@given(one=st.floats(0.5, 2.0), other=st.floats(0.5, 2.0))
def test_more_friction_today_is_never_a_better_worst_day(one: float, other: float) -> None:
    """Up to where it does not finish."""
    light, heavy = sorted((one, other))
    for towards in (End.OPEN, End.CLOSED):
        fast, slow = carried(stroke_of(towards, light)), carried(stroke_of(towards, heavy))
        assert slow.stroke.time_s >= fast.stroke.time_s * (1 - 1e-9)


def test_a_healthy_unit_keeps_its_limit_on_its_worst_day() -> None:
    """8.0 s today, 11.7 s with the coldest oil and the design load, 12 s allowed."""
    worst = carried(stroke_of(End.CLOSED))
    assert worst.stroke.time_s == pytest.approx(11.7, abs=0.1)
    assert worst.within is True
    assert worst.because == "-40 °C oil"
    opening = carried(stroke_of(End.OPEN))
    assert "20.4 V" in opening.because
    assert opening.within is None  # the sheet has no limit at design load


def test_a_packing_that_passes_today_fails_in_january() -> None:
    """Friction ×1.45: 8.97 s is within 10 s today; on the worst day twice the limit; at ×2 it stalls."""
    worst = carried(stroke_of(End.CLOSED, friction=1.45))
    assert worst.within is False
    assert "EXCEEDED" in worst.words
    stalled = carried(stroke_of(End.CLOSED, friction=2.0))
    assert "STALL" in stalled.words
    assert stalled.within is False
    assert stalled.stroke.time_s == math.inf


def test_without_pressures_the_sheets_friction_is_taken() -> None:
    """And said."""
    worst = carried(Measured(towards=End.CLOSED, time_s=8.0))
    assert worst.friction is None
    assert "friction as the sheet's" in sentence((worst,))


def test_the_sentence() -> None:
    """One sentence, that says what it rests on and what it is not."""
    told = sentence((carried(stroke_of(End.OPEN)), carried(stroke_of(End.CLOSED, 1.45))), "oil taken as 20 °C")
    assert told.startswith("Worst day, computed from today's strokes (friction 1.45 times the sheet's, times and flow")
    assert "oil taken as 20 °C" in told
    assert told.endswith("An extrapolation, not a test.")
    assert sentence(()) == ""


def test_where_the_sheet_or_the_stroke_is_not_enough() -> None:
    """No way out in the sheet, no time, friction beyond what the spring has."""
    silent = changed_unit("xv-1101", "orifices", spring_stroke_mm2=None)
    assert worst_day(silent, Measured(towards=End.CLOSED, time_s=8.0)) is None
    assert worst_day(unit_of("xv-1101"), Measured(towards=End.CLOSED, time_s=0.0)) is None
    stuck = Measured(towards=End.CLOSED, time_s=60.0, pressures_pa=((0.0, -20e5), (1.0, 0.0)))
    assert worst_day(unit_of("xv-1101"), stuck) is None
    unloaded = changed_unit("xv-1101", "valve", load=())
    assert friction_share(unloaded, stroke_of(End.CLOSED)) is None


def test_other_units_of_the_station() -> None:
    """The blowdown valve opens by its spring, the control valve by flow controls."""
    blowdown = carried(stroke_of(End.OPEN, tag="bdv-3307"), "bdv-3307")
    assert blowdown.within is True
    control = carried(stroke_of(End.CLOSED, tag="fcv-2204"), "fcv-2204")
    assert control.stroke.by == "flow control"

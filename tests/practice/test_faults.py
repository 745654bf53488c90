"""Faults by name: typed, put together, aged."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.condition import HEALTHY, Condition
from commission.practice.faults import (
    FAULTS,
    NoSuchFault,
    faults_of,
    line_with_fault,
    parse_fault,
    with_fault,
    worn,
)
from commission.practice.trouble import CLEAN
from commission.practice.unit import PracticeUnit
from tests.practice.made import SHEET, SHEETS


@given(st.sampled_from(sorted(SHEETS)), st.data())
def test_any_two_faults_make_a_condition(tag: str, data: st.DataObject) -> None:
    """Every pair that a unit can have is a condition, at any severity; at severity 0 nothing has changed."""
    sheet = SHEETS[tag]
    names = st.sampled_from([fault.name for fault in faults_of(sheet)])
    one, other = data.draw(names), data.draw(names)
    first = with_fault(HEALTHY, sheet, one, data.draw(st.floats(0, 1)))
    assert isinstance(with_fault(first, sheet, other, data.draw(st.floats(0, 1))), Condition)
    plain = with_fault(HEALTHY, sheet, one, 0.0)
    unit, same = PracticeUnit(sheet, condition=plain, seed=5), PracticeUnit(sheet, seed=5)
    if one != "wrong-range":
        assert unit.readings().keys() == same.readings().keys()
    assert unit.truth().travel_pct == same.truth().travel_pct


def test_faults_of_the_line_leave_the_unit_alone() -> None:
    """And the other way round; two of them add up, never beyond every answer."""
    assert with_fault(HEALTHY, SHEET, "duplicate-address", 1.0) == HEALTHY
    assert line_with_fault(CLEAN, "tight-packing", 1.0) == CLEAN
    assert line_with_fault(CLEAN, "duplicate-address", 0.6).duplicate == 0.6
    twice = line_with_fault(line_with_fault(CLEAN, "duplicate-address", 0.6), "duplicate-address", 0.6)
    assert twice.duplicate == 1.0
    assert line_with_fault(CLEAN, "no-termination", 0.5).garbage == pytest.approx(0.1)


def test_wear_takes_a_little_of_everything() -> None:
    """After a year the packing is 30 % tighter, the pump 2 points worse; after none nothing is."""
    year = worn(HEALTHY, SHEET, 12.0)
    assert year.friction_factor == pytest.approx(1.3)
    assert year.volumetric_efficiency == pytest.approx(0.90)
    assert year.precharge_bar == pytest.approx(95.0 * 0.96)
    assert worn(HEALTHY, SHEET, 0.0).friction_factor == 1.0
    assert worn(year, SHEET, 12.0).friction_factor > year.friction_factor


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("tight-paking", "did you mean tight-packing"),
        ("tight-packing=2", "from 0 to 1"),
        ("tight-packing=much", "from 0 to 1"),
        ("tight-packing=nan", "from 0 to 1"),
    ],
)
def test_what_is_typed_wrong_is_said(text: str, words: str) -> None:
    """The nearest name, or what the severity may be."""
    with pytest.raises(NoSuchFault, match=words):
        parse_fault(text)


def test_what_is_typed_right_is_taken() -> None:
    """A name alone is severity 1; a unit that cannot have it says so."""
    assert parse_fault("worn-pump") == ("worn-pump", 1.0)
    assert parse_fault("worn-pump=0.25") == ("worn-pump", 0.25)
    assert len(FAULTS) >= 40
    with pytest.raises(NoSuchFault, match="XV-1101 cannot have 'phase-lost'"):
        with_fault(HEALTHY, SHEET, "phase-lost", 1.0)

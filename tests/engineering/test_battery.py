"""Tests of autonomy, array and recovery."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.battery import (
    Budget,
    array_w,
    autonomy_days,
    battery_for_ah,
    cold_capacity_factor,
    collected_ah,
    recovery_days,
    stroke_ah,
)


def test_a_day_of_a_unit() -> None:
    """Standing current all day, and a stroke: 0.76 A and one of 152 s at 19.6 A."""
    budget = Budget(standby_a=0.76, stroke_ah=stroke_ah(19.6, 152.0), strokes_per_day=1.0)
    assert budget.ah_per_day == pytest.approx(19.07, abs=0.01)


@given(ah=st.floats(10, 1000), depth=st.floats(0.1, 1), factor=st.floats(0.1, 1), daily=st.floats(0.5, 100))
def test_days_and_capacity_are_inverse(ah: float, depth: float, factor: float, daily: float) -> None:
    """And less that may be used is never more days."""
    days = autonomy_days(ah, depth, factor, daily)
    assert battery_for_ah(daily, days, depth, factor) == pytest.approx(ah, rel=1e-9)
    assert autonomy_days(ah, depth * 0.9, factor, daily) < days


@given(one=st.floats(-3.9, 40), other=st.floats(-3.9, 40))
def test_a_colder_battery_has_to_be_larger(one: float, other: float) -> None:
    """Between the points of the table too."""
    cold, warm = sorted((one, other))
    assert cold_capacity_factor(cold) >= cold_capacity_factor(warm) >= 1.0


def test_colder_than_the_table_has_no_answer() -> None:
    """The battery's maker has to say."""
    with pytest.raises(ValueError, match="begins at"):
        cold_capacity_factor(-20.0)


def test_what_is_collected_covers_what_is_taken() -> None:
    """An array of the computed size collects just the day's charge; nothing is left to recover with."""
    needed_w = array_w(19.07, 24.0, 2.8)
    assert collected_ah(24.0, needed_w, 2.8) == pytest.approx(19.07, rel=1e-12)
    assert recovery_days(100.0, 19.07, 19.07) == math.inf
    assert recovery_days(100.0, 29.07, 19.07) == pytest.approx(10.0, rel=1e-9)


def test_wind_adds_to_sun() -> None:
    """A mean share of its rated power, all day."""
    assert collected_ah(24.0, 0.0, 2.8, 100.0, 0.1) == pytest.approx(0.75 * 100 * 0.1 * 24 / 24, rel=1e-12)


def test_what_makes_no_sense_is_refused() -> None:
    """A share above one, a day that takes nothing, a place without sun."""
    with pytest.raises(ValueError, match="within 0 and 1"):
        autonomy_days(100, 1.2, 1, 10)
    with pytest.raises(ValueError, match="above zero"):
        array_w(10, 24, 0.0)

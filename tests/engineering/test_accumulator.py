"""Tests of the accumulator: usable oil, strokes left, what a stroke leaves, precharge by the ideal law."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.accumulator import (
    FAST,
    SLOW,
    Charge,
    absolute_pa,
    ideal_precharge_pa,
    strokes_left,
    volume_for_m3,
)

BOTTLE = Charge(volume_m3=6e-3, precharge_abs_pa=absolute_pa(76.5e5))
PRESSURES = st.floats(absolute_pa(76.5e5), absolute_pa(300e5))


@given(one=PRESSURES, other=PRESSURES)
def test_more_pressure_holds_more_oil(one: float, other: float) -> None:
    """And never more than the bottle."""
    low, high = sorted((one, other))
    assert 0 <= BOTTLE.oil_m3(low) <= BOTTLE.oil_m3(high) < BOTTLE.volume_m3


@given(low=PRESSURES, high=PRESSURES)
def test_fast_gives_less_than_slow(low: float, high: float) -> None:
    """Cooling gas takes pressure away before the oil is out."""
    low, high = sorted((low, high))
    assert BOTTLE.gives_m3(high, low, FAST) <= BOTTLE.gives_m3(high, low, SLOW) + 1e-15


@given(start=PRESSURES, share=st.floats(0.0, 1.0))
def test_pressure_after_a_stroke_and_oil_given_are_inverse(start: float, share: float) -> None:
    """What was drawn down to a pressure is what leaves that pressure."""
    drawn = BOTTLE.oil_m3(start) * share * 0.999
    after = BOTTLE.pressure_after_abs_pa(start, drawn)
    assert after <= start * (1 + 1e-12)
    assert BOTTLE.gives_m3(start, after) == pytest.approx(drawn, abs=1e-12)


def test_slow_oil_between_two_pressures_is_a_difference() -> None:
    """Isothermal: usable oil is what the one holds beyond the other."""
    low, high = absolute_pa(85e5), absolute_pa(105e5)
    assert BOTTLE.gives_m3(high, low, SLOW) == pytest.approx(BOTTLE.usable_m3(low, high), rel=1e-12)


def test_no_oil_below_precharge() -> None:
    """The bag fills the bottle."""
    assert BOTTLE.oil_m3(absolute_pa(50e5)) == 0.0
    assert BOTTLE.gives_m3(absolute_pa(80e5), absolute_pa(90e5)) == 0.0
    with pytest.raises(ValueError, match="held"):
        BOTTLE.pressure_after_abs_pa(absolute_pa(85e5), 5e-3)


def test_strokes_left_are_whole_strokes() -> None:
    """One more litre of stroke than there is oil leaves none."""
    start, floor = absolute_pa(105e5), absolute_pa(77e5)
    given_m3 = BOTTLE.gives_m3(start, floor)
    assert strokes_left(BOTTLE, start, given_m3 / 3, floor) == 3
    assert strokes_left(BOTTLE, start, given_m3 * 1.01, floor) == 0
    with pytest.raises(ValueError, match="above zero"):
        strokes_left(BOTTLE, start, 0.0, floor)


def test_volume_for_a_wanted_amount_is_the_inverse() -> None:
    """A bottle so sized gives what was wanted."""
    low, high = absolute_pa(100e5), absolute_pa(200e5)
    size = volume_for_m3(1e-3, absolute_pa(90e5), low, high, 1.25)
    found = Charge(volume_m3=size, precharge_abs_pa=absolute_pa(90e5)).usable_m3(low, high, 1.25)
    assert found == pytest.approx(1e-3, rel=1e-12)
    with pytest.raises(ValueError, match="low"):
        volume_for_m3(1e-3, high, low, high, 1.0)


@given(at=st.floats(10e5, 300e5), one=st.floats(-60, 80), other=st.floats(-60, 80))
def test_a_warmer_bottle_has_more_pressure(at: float, one: float, other: float) -> None:
    """And going there and back changes nothing."""
    low, high = sorted((one, other))
    assert ideal_precharge_pa(at, 20.0, low) <= ideal_precharge_pa(at, 20.0, high)
    assert ideal_precharge_pa(ideal_precharge_pa(at, 20.0, low), low, 20.0) == pytest.approx(at, rel=1e-9)


def test_what_is_no_bottle_and_no_temperature_is_refused() -> None:
    """Below absolute zero there is no gas law."""
    with pytest.raises(ValueError, match="above zero"):
        Charge(volume_m3=0.0, precharge_abs_pa=1e5)
    with pytest.raises(ValueError, match="absolute zero"):
        ideal_precharge_pa(1e5, 20.0, -300.0)

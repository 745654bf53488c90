"""What a calibration cycle comes to: what each term answers to, and what is not said where it was not measured."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.calibration import Characteristics, PointError, average_curve, characteristics

ERRORS = st.floats(-3, 3, allow_nan=False).map(lambda value: round(value, 4))


@st.composite
def cycles(draw: st.DrawFn) -> list[PointError]:
    """Up and down readings of some cycles at some points."""
    points = draw(st.lists(st.sampled_from([0.0, 10.0, 25.0, 50.0, 75.0, 100.0]), min_size=2, unique=True))
    return [
        PointError(point=point, up=up, cycle=cycle, at=point, error=draw(ERRORS))
        for cycle in range(1, draw(st.integers(1, 3)) + 1)
        for up in (True, False)
        for point in points
    ]


def _changed(
    errors: list[PointError], *, shift: float = 0.0, slope: float = 0.0, swap: bool = False
) -> list[PointError]:
    return [
        PointError(known.point, known.up is not swap, known.cycle, known.at, known.error + shift + slope * known.at)
        for known in errors
    ]


def _shape(found: Characteristics) -> tuple[float, ...]:
    """All that zero and span say nothing about."""
    lines = (found.independent, found.zero_based, found.terminal)
    spreads = (found.hysteresis, found.hysteresis_in_cycle, found.repeatability)
    return (
        *(0.0 if value is None else value for value in spreads),
        *(0.0 if line is None else abs(line.largest) for line in lines),
    )


@given(cycles(), ERRORS)
def test_an_offset_changes_zero_and_accuracy_only(errors: list[PointError], shift: float) -> None:
    """Everything else stands."""
    before, after = characteristics(errors), characteristics(_changed(errors, shift=shift))
    assert after.zero_error == pytest.approx(before.zero_error + shift, abs=1e-9)
    assert (after.high, after.low) == pytest.approx((before.high + shift, before.low + shift), abs=1e-9)
    assert after.span_error == pytest.approx(before.span_error, abs=1e-9)
    assert _shape(after) == pytest.approx(_shape(before), abs=1e-9)


@given(cycles(), st.floats(-0.05, 0.05).map(lambda value: round(value, 4)))
def test_a_wrong_gain_changes_span_and_leaves_the_shape(errors: list[PointError], slope: float) -> None:
    """A gain about 0 % leaves the lowest point where it is only if that is 0 %."""
    before, after = characteristics(errors), characteristics(_changed(errors, slope=slope))
    points = sorted({known.point for known in errors})
    assert after.span_error == pytest.approx(before.span_error + slope * (points[-1] - points[0]), abs=1e-9)
    assert after.zero_error == pytest.approx(before.zero_error + slope * points[0], abs=1e-9)
    assert _shape(after) == pytest.approx(_shape(before), abs=1e-9)


@given(cycles())
def test_swapping_up_and_down_keeps_everything(errors: list[PointError]) -> None:
    """Hysteresis has no direction."""
    before, after = characteristics(errors), characteristics(_changed(errors, swap=True))
    assert _shape(after) == pytest.approx(_shape(before), abs=1e-9)
    assert (after.high, after.low) == (before.high, before.low)


@given(cycles())
def test_hysteresis_of_averages_is_at_most_that_within_a_cycle(errors: list[PointError]) -> None:
    """A mean of differences is never larger than the largest of them."""
    found = characteristics(errors)
    assert found.hysteresis is not None
    assert found.hysteresis_in_cycle is not None
    assert found.hysteresis <= found.hysteresis_in_cycle + 1e-9


def test_one_way_and_one_cycle_have_no_hysteresis_and_no_repeatability() -> None:
    """Not measured is not zero."""
    errors = [PointError(point, True, 1, point, 0.1) for point in (0.0, 50.0, 100.0)]
    found = characteristics(errors)
    assert (found.hysteresis, found.hysteresis_in_cycle, found.repeatability) == (None, None, None)
    assert found.independent is not None


def test_one_point_has_no_line() -> None:
    """Zero, and nothing that needs two."""
    found = characteristics([PointError(50.0, True, 1, 50.3, 0.4)])
    assert (found.zero_error, found.span_error, found.independent) == (0.4, 0.0, None)


def test_the_curve_stands_where_it_was_read() -> None:
    """A point asked for at 25 % and read at 24.8 and 25.4 %: its place is their mean."""
    curve = average_curve([PointError(25.0, True, 1, 24.8, 0.2), PointError(25.0, False, 1, 25.4, 0.4)])
    assert curve[0] == pytest.approx((25.1, 0.3))


def test_nothing_read_is_said() -> None:
    """There is nothing to say of no reading."""
    with pytest.raises(ValueError, match="no point"):
        characteristics([])

"""The lines that a linearity is measured from: their order, what leaves them alone, what they refuse."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.straight_line import Line, independent_line, terminal_line, zero_based_line

VALUES = st.floats(-5, 5, allow_nan=False).map(lambda value: round(value, 4))
CURVES = st.dictionaries(st.integers(0, 100), VALUES, min_size=2, max_size=11).map(
    lambda found: [(float(at), value) for at, value in sorted(found.items())]
)


@given(CURVES)
def test_independent_at_most_zero_based_at_most_terminal(curve: list[tuple[float, float]]) -> None:
    """
    Always so, because each family of lines holds the next: all lines, those through the lower end point, and the one
    of them that goes through the upper end point too.
    """
    independent, zero_based, terminal = independent_line(curve), zero_based_line(curve), terminal_line(curve)
    assert abs(independent.largest) <= abs(zero_based.largest) + 1e-12
    assert abs(zero_based.largest) <= abs(terminal.largest) + 1e-12


@given(CURVES)
def test_the_independent_line_is_off_as_far_above_as_below(curve: list[tuple[float, float]]) -> None:
    """What a best line in this sense has to be (Chebyshev)."""
    line = independent_line(curve)
    assert line.high == pytest.approx(-line.low, abs=1e-9)


@given(CURVES, VALUES, VALUES)
def test_adding_a_straight_line_leaves_every_linearity_alone(
    curve: list[tuple[float, float]], shift: float, slope: float
) -> None:
    """Zero and span are trimmed away; what is left is the same."""
    tilted = [(at, value + shift + slope * at) for at, value in curve]
    for fit in (independent_line, zero_based_line, terminal_line):
        assert abs(fit(tilted).largest) == pytest.approx(abs(fit(curve).largest), abs=1e-9)


def test_points_on_a_line_have_no_deviation() -> None:
    """And the line is found."""
    points = [(0.0, 1.0), (25.0, 2.0), (100.0, 5.0)]
    for fit in (independent_line, zero_based_line, terminal_line):
        assert fit(points) == Line(1.0, 0.04, 0.0, 0.0)
    assert terminal_line(points).value(50.0) == pytest.approx(3.0)


def test_the_sign_of_the_largest_deviation_is_kept() -> None:
    """A curve that sags is below its chord."""
    assert terminal_line([(0.0, 0.0), (50.0, -1.0), (100.0, 0.0)]).largest == -1.0
    assert terminal_line([(0.0, 0.0), (50.0, 1.0), (100.0, 0.0)]).largest == 1.0


@pytest.mark.parametrize("fit", [independent_line, zero_based_line, terminal_line])
def test_one_input_makes_no_line(fit: Callable[[list[tuple[float, float]]], Line]) -> None:
    """Said, not divided by zero."""
    with pytest.raises(ValueError, match="two different inputs"):
        fit([(50.0, 1.0), (50.0, 2.0)])

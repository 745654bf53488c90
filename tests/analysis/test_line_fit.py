"""Tests of the least-squares line: against SciPy, and where it meets a limit."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from commission.analysis.line_fit import fit_line

YEARS = [0.0, 1.0, 2.1, 2.9, 4.0]
TIMES = [8.02, 8.11, 8.17, 8.31, 8.37]


def test_line_and_uncertainties_are_those_of_scipy() -> None:
    """Slope, intercept and both standard uncertainties."""
    line, referee = fit_line(YEARS, TIMES), stats.linregress(YEARS, TIMES)
    assert line.slope == pytest.approx(referee.slope, rel=1e-12)
    assert line.value(0) == pytest.approx(referee.intercept, rel=1e-12)
    assert line.slope_standard == pytest.approx(referee.stderr, rel=1e-10)
    assert line.standard(0) == pytest.approx(referee.intercept_stderr, rel=1e-10)
    assert 1 - line.residual_squares / line.total_squares == pytest.approx(referee.rvalue**2, rel=1e-12)


def test_where_it_meets_a_limit_the_band_of_the_line_does_too() -> None:
    """The ends are where the limit is on the 95 % band; the estimate is on the line."""
    line = fit_line(YEARS, TIMES)
    met = line.meets(10.0)
    assert met is not None
    earliest, estimate, latest = met
    assert earliest < estimate < latest
    assert line.value(estimate) == pytest.approx(10.0)
    factor = stats.t.ppf(0.975, 3)
    assert line.value(earliest) + factor * line.standard(earliest) == pytest.approx(10.0, rel=1e-9)
    assert line.value(latest) - factor * line.standard(latest) == pytest.approx(10.0, rel=1e-9)


def test_a_slope_that_may_be_zero_meets_nothing() -> None:
    """Scatter without a trend."""
    assert fit_line([0, 1, 2, 3, 4], [8.0, 8.2, 7.9, 8.1, 8.0]).meets(10.0) is None


def test_the_interval_holds_the_true_crossing_95_times_in_a_hundred() -> None:
    """2,000 seeded trends of six visits, drifting by 0.2 s a year with a scatter of 0.05 s."""
    draw = np.random.default_rng(21)
    years = np.arange(6.0)
    held = 0
    for _ in range(2000):
        met = fit_line(list(years), list(8 + 0.2 * years + draw.normal(0, 0.05, 6))).meets(10.0)
        held += met is not None and met[0] <= 10.0 <= met[2]
    assert 0.935 <= held / 2000 <= 0.965


@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=20), st.floats(-1e3, 1e3))
def test_moving_time_moves_nothing_else(points: list[tuple[float, float]], shift: float) -> None:
    """The slope and its doubt stay."""
    inputs, values = [x for x, _ in points], [y for _, y in points]
    assume(max(inputs) - min(inputs) > 0.1)
    here, there = fit_line(inputs, values), fit_line([x + shift for x in inputs], values)
    assert there.slope == pytest.approx(here.slope, rel=1e-6, abs=1e-6)
    assert there.value(shift) == pytest.approx(here.value(0), rel=1e-5, abs=1e-4)


@pytest.mark.parametrize(("inputs", "values"), [([1, 2], [1, 2]), ([1, 1, 1], [1, 2, 3]), ([1, 2, 3], [1, 2])])
def test_what_makes_no_line_is_refused(inputs: list[float], values: list[float]) -> None:
    """Too few, all of one time, or not as many."""
    with pytest.raises(ValueError, match=r"points|equal"):
        fit_line(inputs, values)

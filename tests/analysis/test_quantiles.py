"""Tests of the quantiles: against SciPy, and what is refused."""

import math

import pytest
from scipy import stats

from commission.analysis.quantiles import normal_below, two_sided_normal, two_sided_student, within_student


@pytest.mark.parametrize("degrees", [*range(1, 40), 99, 100, 199, 200, 201, 1000, 10**6])
@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.9545, 0.99, 0.9973])
def test_students_quantile_is_that_of_scipy(degrees: int, coverage: float) -> None:
    """Closed form and series agree with an independent library to 1e-10."""
    assert two_sided_student(degrees, coverage) == pytest.approx(stats.t.ppf((1 + coverage) / 2, degrees), rel=1e-10)


@pytest.mark.parametrize("deviations", [0.0, 0.3, 1.0, 2.5, 40.0, -1.2])
def test_probabilities_are_those_of_scipy(deviations: float) -> None:
    """Within t of Student's distribution, and below z of the normal one."""
    expected = 2 * stats.t.cdf(deviations, 7) - 1
    assert within_student(deviations, 7) == pytest.approx(expected, abs=1e-14)
    assert normal_below(deviations) == pytest.approx(stats.norm.cdf(deviations), abs=1e-15)


def test_degrees_of_freedom_are_cut_to_the_next_lower_whole_number() -> None:
    """16.7 is 16 (JCGM 100:2008, G.4.1); infinitely many is the normal distribution."""
    assert two_sided_student(16.7) == two_sided_student(16)
    assert two_sided_student(math.inf) == two_sided_normal() == pytest.approx(1.959963984540054, abs=1e-12)


def test_less_than_one_degree_of_freedom_is_refused() -> None:
    """Nothing is known from one observation alone."""
    with pytest.raises(ValueError, match="at least one degree"):
        two_sided_student(0.5)

"""Tests of uncertainty budgets: each kind of line, what they add up to, exact intervals, and the printed lines."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from commission.analysis.budget import (
    Budget,
    Line,
    Shape,
    expanded,
    normal,
    readings,
    rectangular,
    resolution,
    student,
    trapezoidal,
    triangular,
)

LINES = (
    rectangular("gauge", 2.0),
    triangular("by eye", 1.0, 0.5),
    trapezoidal("two clocks", 1.5, 0.4),
    normal("certificate", 0.3),
    student("scatter", 0.4, 4),
)


@pytest.mark.parametrize(
    ("line", "standard"),
    [
        (rectangular("a", 3.0), 3 / math.sqrt(3)),
        (triangular("a", 3.0), 3 / math.sqrt(6)),
        (trapezoidal("a", 3.0, 1.0), 3 / math.sqrt(3)),
        (trapezoidal("a", 3.0, 0.0), 3 / math.sqrt(6)),
        (trapezoidal("a", 3.0, 0.5), 3 * math.sqrt(1.25 / 6)),
        (normal("a", 3.0), 3.0),
        (expanded("a", 3.0), 1.5),
        (expanded("a", 3.0, 3.0), 1.0),
        (resolution("a", 0.1), 0.1 / math.sqrt(12)),
        (readings("a", [1.0, 2.0, 3.0]), 1 / math.sqrt(3)),
    ],
)
def test_standard_uncertainty_of_each_kind_of_line(line: Line, standard: float) -> None:
    """JCGM 100:2008, 4.2.3, 4.3.3, 4.3.7, 4.3.9 and F.2.2.1."""
    assert line.standard == pytest.approx(standard)


def test_contributions_add_as_squares_like_another_librarys() -> None:
    """Referee: the package `uncertainties`, on a product of two quantities."""
    force, area = ufloat(7.0e6, 4.0e4), ufloat(0.0123, 0.00005)
    budget = Budget((normal("pressure", 4.0e4, 0.0123), normal("area", 0.00005, 7.0e6)))
    assert budget.combined == pytest.approx((force * area).std_dev, rel=1e-12)


def test_bounded_lines_are_sums_of_uniform_terms() -> None:
    """A triangle is two equal ones, a trapezoid two unequal ones: their variances agree."""
    for line in LINES[:3]:
        variance = math.fsum(term**2 / 3 for term in line.uniform_terms)
        assert math.sqrt(variance) == pytest.approx(line.contribution)


def test_the_interval_of_a_mixed_budget_holds_95_in_a_hundred_draws() -> None:
    """Referee: 200,000 seeded draws of all five shapes; t lines are drawn from Student's distribution."""
    draw = np.random.default_rng(11)
    count = 200_000
    total = draw.uniform(-2, 2, count) + 0.5 * draw.triangular(-1, 0, 1, count)
    total += 0.5 * (draw.uniform(-1.5 * 1.4, 1.5 * 1.4, count) + draw.uniform(-1.5 * 0.6, 1.5 * 0.6, count))
    total += 0.3 * draw.standard_normal(count) + 0.4 * draw.standard_t(4, count)
    half = Budget(LINES).expanded()
    assert 0.949 <= np.mean(np.abs(total) <= half) <= 0.962
    assert half <= 1.05 * np.quantile(np.abs(total), 0.95)


def test_a_dominating_bound_has_a_smaller_interval_than_the_normal_factor_gives() -> None:
    """One rectangular line alone: 0.95 of the bound, where 1.96·u would claim 1.13 of it."""
    budget = Budget((rectangular("gauge", 1.0),))
    assert budget.expanded() == pytest.approx(0.95)
    assert budget.gum_expanded() == pytest.approx(1.1316, abs=1e-4)


def test_few_readings_widen_the_interval() -> None:
    """Four degrees of freedom: 2.776 standard uncertainties; the rest of the budget adds degrees."""
    alone = Budget((student("scatter", 1.0, 4),))
    assert alone.effective_degrees == pytest.approx(4)
    assert alone.expanded() == pytest.approx(2.7764, abs=1e-4)
    both = Budget((student("scatter", 1.0, 4), normal("certificate", 1.0)))
    assert both.effective_degrees == pytest.approx(16)
    assert both.expanded() == pytest.approx(2.1199 * math.sqrt(2), abs=1e-4)


def test_effective_degrees_survive_small_units() -> None:
    """The fourth power of picometres is not zero."""
    budget = Budget((student("scatter", 1e-90, 4), normal("certificate", 1e-90)))
    assert budget.effective_degrees == pytest.approx(16)


@given(st.floats(1e-6, 1e6), st.floats(-1e3, 1e3))
def test_a_sensitivity_scales_a_line(width: float, sensitivity: float) -> None:
    """Its sign does not matter to the uncertainty."""
    line = rectangular("a", width).times(sensitivity)
    assert line.contribution == pytest.approx(abs(sensitivity) * width / math.sqrt(3))
    assert line.times(-1).contribution == line.contribution


@given(st.permutations(LINES))
def test_the_order_of_lines_does_not_matter(lines: list[Line]) -> None:
    """Sums are exactly rounded, so not even in the last digit."""
    assert Budget(tuple(lines)).expanded() == Budget(LINES).expanded()


def test_a_budget_prints_line_by_line() -> None:
    """Name, shape, width, standard uncertainty, degrees, share; and the lines stay with the figure."""
    figure = Budget((*LINES, readings("three runs", [10.0, 10.2, 10.1]))).figure("x", 10.1, "s", "test/1", note="n")
    assert [line.name for line in figure.budget] == [*(line.name for line in LINES), "three runs"]
    first, last = figure.budget[0], figure.budget[-1]
    assert (first.shape, first.width, first.standard, first.degrees_of_freedom) == ("rectangular", "2", "1.155", "")
    assert figure.budget[2].shape == "trapezoidal, top 0.4"
    assert (last.shape, last.degrees_of_freedom) == ("t", "2")
    assert sum(float(line.share_pct) for line in figure.budget) == pytest.approx(100, abs=3)
    assert (figure.unit, figure.note) == ("s", "n")


@pytest.mark.parametrize(
    ("width", "printed"),
    [
        (80_000.0, "80000"),
        (123_456.0, "123500"),
        (0.00012344, "0.0001234"),
        (1.5e-9, "1.5e-09"),
        (2.0, "2"),
        (0.0, "0"),
    ],
)
def test_numbers_of_a_budget_are_written_as_people_do(width: float, printed: str) -> None:
    """Pascals without an exponent; what is far from one with it."""
    assert Budget((rectangular("a", width),)).printable()[0].width == printed


def test_an_empty_budget_is_no_uncertainty() -> None:
    """Nothing is made up."""
    assert Budget(()).expanded() == 0.0
    assert Budget((rectangular("a", 0.0),)).expanded() == 0.0
    assert Budget((rectangular("a", 0.0),)).printable()[0].share_pct == "0"


@pytest.mark.parametrize(
    "wrong",
    [
        {"width": -1.0},
        {"width": math.nan},
        {"width": 1.0, "sensitivity": math.inf},
        {"width": 1.0, "top_ratio": 1.2},
        {"width": 1.0, "degrees_of_freedom": 0.0},
    ],
)
def test_a_line_that_cannot_be_is_refused_by_name(wrong: dict[str, float]) -> None:
    """The message names the line."""
    with pytest.raises(ValueError, match="gauge G-12"):
        Line(name="gauge G-12", shape=Shape.RECTANGULAR, **wrong)


def test_one_reading_has_no_scatter_and_a_factor_is_above_zero() -> None:
    """Both refused by name."""
    with pytest.raises(ValueError, match="scatter: at least two"):
        readings("scatter", [1.0])
    with pytest.raises(ValueError, match="certificate: a coverage factor"):
        expanded("certificate", 1.0, 0.0)


def test_the_largest_of_several_is_held_by_a_wider_interval() -> None:
    """Ten normal deviations all keep within 2.80 standard ones, 95 times in a hundred: 0.95^(1/10) each (computed)."""
    budget = Budget((normal("noise", 1.0),))
    assert budget.together(10) == pytest.approx(2.7995, abs=1e-3)
    figure = budget.figure("largest", 5.0, "1", "test/1", note="at 3 s", largest_of=10)
    assert figure.expanded_uncertainty == "2.8"
    assert figure.note == "at 3 s; largest of 10 alike: U holds for all of them"

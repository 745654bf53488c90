"""Tests of the sum of uniform terms: against the whole-number closed form, against draws, and its limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.intervals import half_width_ns, two_term_half_width
from commission.analysis.uniform_sum import half_width

terms = st.lists(st.floats(0.001, 10), min_size=1, max_size=5)


@given(terms)
def test_it_is_the_same_as_in_whole_nanoseconds(half_widths: list[float]) -> None:
    """Two closed forms of one distribution; the small terms that are folded into a normal one move it by under 1 %."""
    expected = half_width_ns([round(2e6 * term) for term in half_widths]) / 1e6
    assert half_width(half_widths, 0) == pytest.approx(expected, rel=0.01)


@given(st.floats(0.2, 5), st.floats(0.2, 5))
def test_two_terms_have_the_closed_form_of_a_trapezoid(first: float, second: float) -> None:
    """JCGM 100:2008, 4.3.9."""
    assert half_width([first, second], 0) == pytest.approx(two_term_half_width(first, second), rel=1e-3)


@given(terms, st.floats(0, 10), st.floats(0.1, 1000))
def test_it_scales_with_its_terms(half_widths: list[float], normal: float, unit: float) -> None:
    """Bars or pascals: the interval is the same one."""
    scaled = half_width([unit * term for term in half_widths], unit * normal)
    assert scaled == pytest.approx(unit * half_width(half_widths, normal), rel=1e-9)


@pytest.mark.parametrize(
    ("half_widths", "normal"),
    [
        ((1,), 0.3),
        ((1,), 1.0),
        ((1, 0.5), 0.2),
        ((1, 1, 1), 0.1),
        ((1, 1, 0.6, 0.3), 0.5),
        ((2, 1, 1, 1, 1, 1, 1), 0.2),
    ],
)
def test_draws_fall_within_it_95_times_in_a_hundred(half_widths: tuple[float, ...], normal: float) -> None:
    """Referee: 400,000 seeded draws, whose share is known to ± 0.07 %."""
    draw = np.random.default_rng(5)
    total = normal * draw.standard_normal(400_000)
    for term in half_widths:
        total += draw.uniform(-term, term, 400_000)
    assert np.mean(np.abs(total) <= half_width(half_widths, normal)) == pytest.approx(0.95, abs=0.0015)


def test_one_uniform_term_alone_and_one_normal_alone() -> None:
    """0.95 of the bound; 1.96 standard deviations; nothing at all is zero."""
    assert half_width([3.0], 0) == pytest.approx(2.85)
    assert half_width([], 1.0) == pytest.approx(1.959964, abs=1e-6)
    assert half_width([0.0, 0.0], 0.0) == 0.0


@pytest.mark.parametrize("normal", [1e-12, 1e-9, 1e-6, 1e-3])
def test_a_vanishing_normal_term_changes_nothing(normal: float) -> None:
    """The closed form does not fall apart where its parts cancel."""
    assert half_width([1.0, 0.8], normal) == pytest.approx(half_width([1.0, 0.8], 0.0), rel=1e-5)


@pytest.mark.parametrize("wrong", [-1.0, math.inf, math.nan])
def test_what_is_no_width_is_refused(wrong: float) -> None:
    """A negative or endless term is a mistake of the caller."""
    with pytest.raises(ValueError, match="finite and not negative"):
        half_width([wrong], 0)
    with pytest.raises(ValueError, match="finite and not negative"):
        half_width([1], wrong)

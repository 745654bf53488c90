"""Moments, and the exact 95 % interval of the difference of two."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.intervals import (
    Instant,
    between,
    duration_s,
    half_width_ns,
    standard_uncertainty,
    two_term_half_width,
)
from commission.sheet.decode import Reading

WIDTHS = st.lists(st.integers(1, 2_000_000_000), min_size=1, max_size=6)


@given(st.integers(1, 2_000_000_000), st.integers(1, 2_000_000_000))
def test_two_terms_agree_with_the_closed_form(first: int, second: int) -> None:
    """Whole-number evaluation and the closed form of a trapezoid are the same to a nanosecond."""
    closed = two_term_half_width(first / 2, second / 2)
    assert half_width_ns((first, second)) == pytest.approx(closed, abs=1.5 + 1e-9 * closed)


def test_one_term_is_95_percent_of_its_half_width() -> None:
    """A single uniform term: 0.95 a."""
    assert half_width_ns((2_000_000,)) == 950_000


def test_nothing_unsure_has_no_width() -> None:
    """Zero widths add nothing."""
    assert half_width_ns(()) == half_width_ns((0, 0)) == 0


@given(WIDTHS, st.integers(0, 5))
def test_wider_terms_never_narrow_the_interval(widths: list[int], which: int) -> None:
    """The half-width grows with each term, as with the period of polling."""
    wider = list(widths)
    wider[which % len(widths)] *= 2
    assert half_width_ns(wider) >= half_width_ns(widths)
    assert half_width_ns([*widths, 1_000_000]) >= half_width_ns(widths)


@given(WIDTHS)
def test_the_interval_is_within_the_bounds_and_ordered_sums_are_one(widths: list[int]) -> None:
    """Never wider than all terms together; the order of terms does not matter."""
    half = half_width_ns(widths)
    assert half <= math.ceil(sum(widths) / 2)
    assert half == half_width_ns(list(reversed(widths)))


@given(st.floats(0.001, 10), st.floats(0.001, 10), st.floats(0.1, 100))
def test_the_closed_form_scales_with_its_unit(first: float, second: float, scale: float) -> None:
    """Seconds or milliseconds: the same interval."""
    scaled = two_term_half_width(first * scale, second * scale)
    assert scaled == pytest.approx(scale * two_term_half_width(first, second), rel=1e-9)


def test_many_terms_against_draws() -> None:
    """Referee: 200,000 draws of five terms and noise fall inside the interval 95 times in a hundred."""
    widths, noise = (50_000_000, 20_000_000, 10_000_000, 20_000_000, 8_000_000), 4_000_000.0
    half = half_width_ns(widths, noise)
    random_ = random.Random(20260512)
    inside = sum(
        abs(sum(random_.uniform(-w / 2, w / 2) for w in widths) + random_.gauss(0, noise)) <= half
        for _ in range(200_000)
    )
    assert inside / 200_000 == pytest.approx(0.95, abs=0.002)


def test_noise_alone_is_nearly_a_normal_interval() -> None:
    """Three equal terms stand for noise within 2 % of 1.96 standard deviations."""
    assert half_width_ns((), 1_000_000.0) == pytest.approx(1_960_000, rel=0.02)


def test_an_event_lies_between_its_two_readings_less_a_scan() -> None:
    """The bounds are the last reading without it, less half-width and scan, and the first with it."""
    found = between(Reading(0.0, 1_000, 10), Reading(1.0, 2_000, 20), scan_ns=100)
    assert (found.at_ns, found.widths_ns) == (1_450, (1_000, 100, 30))
    assert found.earliest_ns <= 1_000 - 10 - 100 + 10  # half-widths are taken as one term of their mean
    assert found.latest_ns >= 2_000


@given(st.integers(-(10**15), 10**15))
def test_moving_all_times_changes_nothing(shift: int) -> None:
    """Only differences count."""
    start, end = Instant(1_000, (50,)), Instant(9_000, (70,), 3.0)
    moved = (Instant(1_000 + shift, (50,)), Instant(9_000 + shift, (70,), 3.0))
    assert duration_s(*moved) == duration_s(start, end)


@pytest.mark.parametrize("wrong", [(-1, 5), (5, -1)])
def test_negative_widths_are_refused(wrong: tuple[int, int]) -> None:
    """A negative width is a mistake, said with its value."""
    with pytest.raises(ValueError, match="negative: -1"):
        half_width_ns(wrong)
    with pytest.raises(ValueError, match="negative"):
        two_term_half_width(*wrong)


def test_standard_uncertainty_adds_squares() -> None:
    """3 and 4 make 5."""
    assert standard_uncertainty((3 * math.sqrt(3), 4 * math.sqrt(3))) == pytest.approx(5)

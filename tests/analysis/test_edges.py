"""Changes in a track: bits, levels, settling."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.edges import (
    departure,
    first_change,
    level_crossing,
    makings,
    mean_and_noise,
    scatter,
    settled,
    typical_scatter,
)
from commission.sheet.decode import Reading


def track(*values: float, step_ns: int = 100_000_000) -> tuple[Reading, ...]:
    """Readings at a steady beat."""
    return tuple(Reading(value, index * step_ns, 1_000_000) for index, value in enumerate(values))


def test_a_bit_changes_between_two_readings() -> None:
    """The moment is the middle of the last without and the first with it."""
    found = first_change(track(0, 0, 1, 1), bool, 0)
    assert found is not None
    assert (found.at_ns, found.widths_ns[0], found.note) == (150_000_000, 100_000_000, "")


@pytest.mark.parametrize("values", [(), (1.0,), (1.0, 1.0), (0.0, 0.0)])
def test_what_was_not_seen_to_change_has_no_moment(values: tuple[float, ...]) -> None:
    """Already made, or never: None, not a guess."""
    assert first_change(track(*values), bool, 0) is None


def test_r19_a_change_across_a_gap_says_so_and_is_as_wide() -> None:
    """Across a gap the interval is the gap, with the words for it."""
    readings = track(0, 0, 0, 0, 0, 1, 1, 1)
    gapped = readings[:3] + tuple(Reading(r.value, r.at_ns + 10**9, 0) for r in readings[5:])
    found = first_change(gapped, bool, 0, "between last seen moving and first seen home")
    assert found is not None
    assert found.note == "between last seen moving and first seen home"
    assert found.widths_ns[0] == 1_300_000_000


def test_chatter_is_counted() -> None:
    """Each false to true counts."""
    assert makings(track(0, 1, 0, 1, 1, 0)) == 2


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e3))
def test_scatter_leaves_out_a_steady_rise(start: float, slope: float) -> None:
    """A straight line has no scatter."""
    readings = track(*(start + slope * index for index in range(12)))
    assert scatter(readings) <= 1e-6 * (abs(start) + 12 * slope)


def test_both_scatters_find_the_noise() -> None:
    """With 4,000 normal readings either estimate is within 10 % of the truth."""
    random_ = random.Random(3)
    readings = track(*(random_.gauss(5, 0.02) for _ in range(4000)))
    assert scatter(readings) == pytest.approx(0.02, rel=0.1)
    assert typical_scatter(readings) == pytest.approx(0.02, rel=0.1)
    assert mean_and_noise(readings)[1] == pytest.approx(0.02, rel=0.1)


def test_a_corner_leaves_the_typical_scatter_alone() -> None:
    """One corner in a clean track is not noise."""
    readings = track(*([0.0] * 10 + [float(i) for i in range(10)]))
    assert typical_scatter(readings) == 0.0
    assert scatter(readings) > 0.0
    assert typical_scatter(()) == scatter(()) == 0.0


def test_the_mean_of_nothing_is_refused() -> None:
    """No readings, no mean."""
    with pytest.raises(ValueError, match="no readings"):
        mean_and_noise(())


def test_a_level_that_is_never_reached_has_no_crossing() -> None:
    """None, not an extrapolation."""
    assert level_crossing(track(0.0, 0.1, 0.2), 0.5, 0.0, 0) is None


def test_a_noisy_slow_track_is_timed_without_leaning_to_either_side() -> None:
    """Noise ten times the step crosses again and again; over 300 tracks the mean error stays below half a step."""
    random_ = random.Random(11)
    errors = []
    for _ in range(300):
        slow = track(*(i * 0.0002 + random_.gauss(0, 0.002) for i in range(1000)), step_ns=40_000_000)
        found = level_crossing(slow, 0.1, 0.002, 0)
        assert found is not None
        errors.append(found.at_ns - 500 * 40_000_000)
    assert abs(sum(errors) / len(errors)) < 20_000_000


def test_r19_a_level_crossed_in_a_gap_is_as_unsure_as_the_gap() -> None:
    """No interpolation across a gap, and the note says so."""
    readings = track(0.0, 0.1, 0.2, 0.3)
    gapped = (*readings, *(Reading(0.8 + i / 100, 2 * 10**9 + i * 10**8, 0) for i in range(3)))
    found = level_crossing(gapped, 0.5, 0.0, 0)
    assert found is not None
    assert found.note == "between two samples with a gap between them"
    assert found.widths_ns[0] == 1_700_000_000


def test_noise_makes_a_crossing_unsure_by_noise_over_slope() -> None:
    """0.1 % of noise on 10 %/s is 10 ms."""
    found = level_crossing(track(0.40, 0.41, 0.42), 0.415, 0.001, 0)
    assert found is not None
    assert found.noise_ns == pytest.approx(10_000_000)


def test_pressure_settles_at_the_last_entry_into_its_band() -> None:
    """Between the last reading outside and the first inside for good, and the quarter of a step that the band takes."""
    found = settled(track(0, 50, 90, 110, *[100.0] * 8), 5.0, 0)
    assert found is not None
    assert found.at_ns == 375_000_000


def test_what_still_moves_at_the_end_has_not_settled() -> None:
    """No steady end, no moment; and none where it never left its band."""
    assert settled(track(*(float(i * 50) for i in range(100))), 5.0, 0) is None
    assert settled(track(*[100.0] * 12), 5.0, 0) is None
    assert settled((), 5.0, 0) is None


@pytest.mark.parametrize("slope", [5.0, 50.0, 1e6])
def test_a_departure_is_put_back_to_where_it_began(slope: float) -> None:
    """A level, then a steady rise from 2.01 s on: the threshold is passed later, the slower the rise the more."""
    read = track(*(max(0.0, slope * (0.05 * n - 2.01)) for n in range(80)), step_ns=50_000_000)
    found = departure(read, 0.0, 0.5, 0)
    assert found is not None
    assert found.at_ns / 1e9 == pytest.approx(2.01, abs=0.026)
    assert departure(read, 0.0, 1e9, 0) is None

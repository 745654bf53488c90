"""Start and end of motion from travel."""

import random

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.motion import LEAST_NOISE, fit_ramp, motion_end, motion_start, rest, travel_noise
from commission.sheet.decode import Reading
from tests.analysis.seen import observe
from tests.procedures.strokes import Line, Stroke, samples, with_gap

CLEAN = Line(half_width_s=0.0, scan_s=0.0, noise=0.0, jitter_s=0.0)


@given(st.floats(-5, 5), st.floats(0.01, 5))
def test_a_line_is_found_again(offset: float, slope_per_s: float) -> None:
    """Exact points give their line back."""
    readings = [Reading(offset + slope_per_s * i * 0.1, i * 100_000_000, 0) for i in range(6)]
    ramp = fit_ramp(readings)
    assert ramp.slope * 1e9 == pytest.approx(slope_per_s, rel=1e-9)
    assert ramp.residual == pytest.approx(0, abs=1e-9)


def test_a_line_needs_three_readings_at_different_times() -> None:
    """Fewer say so; so do three at one time."""
    with pytest.raises(ValueError, match="three readings, not 2"):
        fit_ramp([Reading(0, 0, 0), Reading(1, 1, 0)])
    with pytest.raises(ValueError, match="one time"):
        fit_ramp([Reading(0, 5, 0)] * 3)


@pytest.mark.parametrize("opening", [True, False])
def test_a_straight_stroke_without_noise_is_timed_exactly(opening: bool) -> None:  # noqa: FBT001  # a direction
    """With a straight ramp and a perfect clock both ends come out to a microsecond."""
    stroke = Stroke(bend=0.0, opening=opening)
    progress = observe(stroke, CLEAN, 1).progress()
    start, end = motion_start(progress, 0), motion_end(progress, 0)
    assert start is not None
    assert end is not None
    assert start.at_ns / 1e9 == pytest.approx(stroke.start_s, abs=1e-6)
    assert end.at_ns / 1e9 == pytest.approx(stroke.end_s, abs=1e-6)


@given(st.integers(-(10**12), 10**12))
def test_moving_all_times_moves_the_answer_by_as_much(shift: int) -> None:
    """Time shift invariance, to the rounding of a nanosecond."""
    progress = observe(Stroke(), Line(), 4).progress()
    moved = tuple(msgspec.structs.replace(r, at_ns=r.at_ns + shift) for r in progress)
    for find in (motion_start, motion_end):
        plain, shifted = find(progress, 20_000_000), find(moved, 20_000_000)
        assert plain is not None
        assert shifted is not None
        assert abs(shifted.at_ns - shift - plain.at_ns) <= 200
        assert shifted.widths_ns == plain.widths_ns


def test_a_valve_that_stands_still_has_no_motion() -> None:
    """Noise is not motion, at either end."""
    still = observe(Stroke(dead_s=100.0, last_s=8.0), Line(noise=0.001), 2).progress()
    assert motion_start(still, 0) is None
    assert motion_end(still, 0) is None
    assert motion_start((), 0) is None


def test_r19_a_gap_over_the_start_gives_its_whole_width() -> None:
    """No fit across a gap: between last seen still and first seen moving."""
    stroke = Stroke()
    seen = with_gap(list(samples(stroke, Line(), random.Random(3))), stroke.start_s - 0.3, stroke.start_s + 0.5)
    found = motion_start(observe(stroke, Line(), 3, tuple(seen)).progress(), 20_000_000)
    assert found is not None
    assert found.note == "between last seen still and first seen moving"
    assert found.widths_ns[0] > 700_000_000
    assert found.earliest_ns < stroke.start_s * 1e9 < found.latest_ns


def test_a_single_spike_is_not_the_start() -> None:
    """One wild reading at rest moves the start by nothing, as long as it is below the certain rise."""
    stroke = Stroke(bend=0.0)
    progress = list(observe(stroke, CLEAN, 1).progress())
    progress[8] = msgspec.structs.replace(progress[8], value=0.015)
    found = motion_start(tuple(progress), 0)
    assert found is not None
    assert found.at_ns / 1e9 == pytest.approx(stroke.start_s, abs=0.02)


def test_noise_has_a_floor_and_is_found_above_it() -> None:
    """0.02 % of travel at least; 0.1 % of noise is found within a third."""
    assert travel_noise(observe(Stroke(), CLEAN, 1).progress()) == LEAST_NOISE
    noisy = observe(Stroke(), Line(noise=0.001), 5).progress()
    assert travel_noise(noisy) == pytest.approx(0.001, rel=0.35)
    assert travel_noise(()) == LEAST_NOISE


def test_rest_is_the_level_before_the_motion() -> None:
    """Level and first reading in motion."""
    found = rest(observe(Stroke(), CLEAN, 1).progress(), LEAST_NOISE)
    assert found.level == pytest.approx(0.0, abs=1e-9)
    assert found.moving is not None
    assert found.count < found.moving

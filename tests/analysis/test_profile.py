"""Tests of the shape of a stroke: speed over travel, cushioned ends, stick-slip."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.moments import moments
from commission.analysis.profile import end_to_middle_ratio, profile_figures, speed_profile, stick_slip
from commission.sheet.decode import Reading
from tests.analysis.seen import SHEET, observe
from tests.analysis.tracks import ramp, track
from tests.procedures.strokes import Line, Stroke


def test_a_straight_stroke_has_one_speed() -> None:
    """A tenth a second in each tenth of the way."""
    speeds = speed_profile(track(ramp(2.0, 10.0), 15.0), 0)
    assert len(speeds) == 8
    assert [speed.per_s for speed in speeds] == pytest.approx([0.1] * 8)


def test_a_spring_stroke_slows_down() -> None:
    """Speed falls from tenth to tenth of a stroke that starts fast."""
    observed = observe(Stroke(bend=0.3, opening=False), Line(noise=0, half_width_s=0, scan_s=0, jitter_s=0), 1)
    speeds = [speed.per_s for speed in speed_profile(observed.progress(), 0)]
    assert speeds == sorted(speeds, reverse=True)


@given(st.floats(0.5, 3.0))
def test_speed_scales_with_time(slower: float) -> None:
    """Twice the time is half the speed."""
    base = track(ramp(2.0, 10.0), 15.0)
    stretched = tuple(Reading(r.value, round(r.at_ns * slower), r.half_width_ns) for r in base)
    pairs = zip(speed_profile(base, 0), speed_profile(stretched, 0), strict=True)
    for here, there in pairs:
        assert there.per_s * slower == pytest.approx(here.per_s, rel=1e-6)


def cushioned(at_s: float) -> float:
    """Nine tenths in nine seconds, the last in four."""
    moved = max(0.0, at_s - 2.0)
    return min(0.1 * moved, 0.9) if moved <= 9 else min(1.0, 0.9 + 0.1 * (moved - 9) / 4)


def test_a_cushioned_end_is_a_quarter_of_the_speed() -> None:
    """0.25 with its uncertainty; a straight stroke has 1."""
    ratio = end_to_middle_ratio(track(cushioned, 18.0, noise=0.0003, half_width_s=0.003), 0)
    straight = end_to_middle_ratio(track(ramp(2.0, 10.0), 15.0, noise=0.0003, half_width_s=0.003), 0)
    assert ratio is not None
    assert straight is not None
    assert abs(ratio.unrounded - 0.25) <= float(ratio.expanded_uncertainty)
    assert abs(straight.unrounded - 1.0) <= float(straight.expanded_uncertainty)


def sticking(step: float) -> list[Reading]:
    """A stroke that stands still and leaps by `step`, read with a little noise."""
    random_ = random.Random(7)
    found = []
    for number in range(200):
        at_s = 0.1 * number
        smooth = ramp(2.0, 15.0)(at_s)
        value = math.floor(smooth / step) * step if 0 < smooth < 1 else smooth
        found.append(Reading(value + random_.gauss(0, 0.0003), round(at_s * 1e9), 0))
    return found


def test_a_stroke_that_sticks_and_leaps_is_told_from_a_smooth_one() -> None:
    """Leaps of 5 % give an index of about 1 %; a smooth stroke, even a curved one, gives none beyond its doubt."""
    leaping = stick_slip(tuple(sticking(0.05)), 2_200_000_000, 16_500_000_000)
    assert leaping is not None
    assert 0.005 < leaping.unrounded < 0.03
    assert leaping.unrounded > 3 * float(leaping.expanded_uncertainty)
    curved = track(lambda t: math.sin(ramp(2.0, 15.0)(t) * math.pi / 2), 20.0, noise=0.0003)
    smooth = stick_slip(curved, 2_200_000_000, 16_500_000_000)
    assert smooth is not None
    assert smooth.unrounded <= 0.0005


def test_figures_of_a_stroke() -> None:
    """Speed, end against middle, stick-slip; none where the stroke was not seen."""
    observed = observe(Stroke(bend=0.0), Line(), 1)
    seen = moments(observed, SHEET)
    figures = {figure.name: figure for figure in profile_figures(observed, SHEET, seen.t3, seen.t7)}
    assert set(figures) == {"speed_at_half_travel", "end_to_middle_speed_ratio", "stick_slip"}
    speed = figures["speed_at_half_travel"]
    assert abs(speed.unrounded - 0.25) <= float(speed.expanded_uncertainty)
    assert speed.unit == "1/s"
    assert profile_figures(observed, SHEET, None, seen.t7) == ()


def test_too_few_readings_say_nothing() -> None:
    """Of a stroke that was seen four times there is no shape."""
    few = track(ramp(0.5, 1.0), 2.0, period_s=0.5)
    assert speed_profile(few, 0) == ()
    assert stick_slip(few, 0, 2 * 10**9) is None
    assert end_to_middle_ratio(few[:2], 0) is None

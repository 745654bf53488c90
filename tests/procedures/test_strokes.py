"""The synthetic stroke: its true times follow from its own curve."""

import random

import pytest

from tests.procedures.strokes import Line, Stroke, samples, with_gap


@pytest.mark.parametrize("bend", [-0.3, 0.0, 0.15, 0.5])
def test_times_and_curve_agree(bend: float) -> None:
    """The time at which a progress is reached is where the curve has it."""
    stroke = Stroke(bend=bend)
    for progress in (0.02, 0.1, 0.5, 0.9, 0.98):
        assert stroke.progress(stroke.when(progress)) == pytest.approx(progress, abs=1e-12)


def test_limits_change_at_their_true_times() -> None:
    """The start limit drops and the end limit makes exactly at the times that are called true."""
    stroke = Stroke(opening=False)
    assert stroke.shown(stroke.left_s - 1e-6, 0)["open_limit"] == 1.0
    assert stroke.shown(stroke.left_s + 1e-6, 0)["open_limit"] == 0.0
    assert stroke.shown(stroke.home_s - 1e-6, 0)["closed_limit"] == 0.0
    assert stroke.shown(stroke.home_s + 1e-6, 0)["closed_limit"] == 1.0


def test_a_gap_leaves_a_silence() -> None:
    """Readings in the gap are gone and one silence stands in their place."""
    seen = list(samples(Stroke(), Line(), random.Random(1)))
    gapped = with_gap(seen, 3.0, 4.0)
    assert not [item for item in gapped[:-1] if 3.01e9 < item.at_ns < 3.99e9]
    assert len(gapped) < len(seen)

"""Curves for plots."""

import random

import msgspec
import pytest

from commission.analysis.curve import stroke_curves
from tests.analysis.seen import observe
from tests.procedures.strokes import Line, Stroke, samples, with_gap


def test_time_counts_from_the_command() -> None:
    """Zero is the command; readings before it are negative."""
    observed = observe(Stroke(), Line(), 1)
    curves = {curve.role: curve for curve in stroke_curves(observed)}
    assert set(curves) == {"travel", "cylinder_pressure", "motor_current"}
    travel = curves["travel"]
    assert len(travel.times_s) == len(travel.values) == len(observed.seen)
    assert travel.times_s[0] == pytest.approx(-1.5, abs=0.1)
    assert (curves["cylinder_pressure"].unit, travel.gaps_s) == ("Pa", ())


def test_without_a_command_time_counts_from_the_first_reading() -> None:
    """A stroke that somebody else began still has its curve."""
    observed = msgspec.structs.replace(observe(Stroke(), Line(), 1), command=None)
    assert stroke_curves(observed)[0].times_s[0] == 0.0


def test_a_gap_is_marked() -> None:
    """No line is drawn across a gap."""
    stroke = Stroke()
    seen = with_gap(list(samples(stroke, Line(), random.Random(1))), 3.0, 4.0)
    (gap,) = stroke_curves(observe(stroke, Line(), 1, tuple(seen)))[0].gaps_s
    assert gap == pytest.approx((1.5, 2.5), abs=0.1)


def test_nothing_seen_has_no_curves() -> None:
    """No readings, no plot."""
    assert stroke_curves(observe(Stroke(), Line(), 1, ())) == ()

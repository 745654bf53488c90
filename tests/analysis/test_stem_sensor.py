"""Stem against sensor: slope, lost motion, a sheared key, and how often the intervals hold the truth."""

import random

import pytest

from commission.analysis.span import Meter, Signal, SpanEnd, SpanObserved, SpanReading, meter_of
from commission.analysis.stem_sensor import LOST_MOTION, SLOPE, stem_faults, stem_sensor_figures

STEP = 0.5 / 90
METER: Meter = meter_of("M-03", "0.02 mA", 24.0, 0.01, STEP)
ROUNDS = 1000


def at(point_pct: float, *, up: bool, stem: float, travel: float | None) -> SpanReading:
    """One point."""
    return SpanReading(point_pct=point_pct, up=up, cycle=1, stem=stem, current_a=0.012, travel=travel)


def observed(*readings: SpanReading) -> SpanObserved:
    """A span test of these points."""
    return SpanObserved(
        test="M1 1", signal=Signal.FEEDBACK, meter=METER, readings=readings, not_tested=(), ended=SpanEnd.DONE
    )


def read(true: float, dice: random.Random) -> float:
    """The stem's scale, to its step, by somebody who reads the nearest mark."""
    return round(true / STEP) * STEP + dice.uniform(-1e-9, 1e-9)


def drawn(dice: random.Random, slope: float, lost: float) -> SpanObserved:
    """Up and down through five points: the stem lags by half of what is lost, either way."""
    points = []
    for up in (True, False):
        for percent in (0, 25, 50, 75, 100) if up else (75, 50, 25, 0):
            stem = min(1.0, max(0.0, percent / 100 + dice.uniform(-0.02, 0.02)))
            travel = slope * (stem + (lost / 2 if up else -lost / 2)) + dice.gauss(0, 0.0005)
            points.append(at(percent, up=up, stem=read(stem, dice), travel=travel))
    return observed(*points)


@pytest.mark.parametrize(("name", "truth"), [(SLOPE, 1.03), (LOST_MOTION, 0.012)])
def test_the_interval_holds_the_truth(name: str, truth: float) -> None:
    """In at least 93.5 % of 1,000 span tests with play, a slope and a scale of half a degree."""
    dice, held = random.Random(5), 0
    for _ in range(ROUNDS):
        figures = {figure.name: figure for figure in stem_sensor_figures(drawn(dice, 1.03, 0.012))}
        figure = figures[name]
        held += abs(figure.unrounded - truth) <= float(figure.expanded_uncertainty) + 1e-12
    assert held / ROUNDS >= 0.935


def test_a_healthy_coupling_has_slope_one_and_loses_nothing() -> None:
    """Both figures say so within their uncertainty."""
    figures = {figure.name: figure for figure in stem_sensor_figures(drawn(random.Random(1), 1.0, 0.0))}
    assert abs(figures[SLOPE].unrounded - 1) <= float(figures[SLOPE].expanded_uncertainty)
    assert abs(figures[LOST_MOTION].unrounded) <= float(figures[LOST_MOTION].expanded_uncertainty)


def test_one_way_only_has_a_slope_and_no_lost_motion() -> None:
    """A spring unit is not held on its way back."""
    points = [at(p, up=True, stem=p / 100, travel=p / 100) for p in (0, 25, 50, 75, 100)]
    assert [figure.name for figure in stem_sensor_figures(observed(*points))] == [SLOPE]
    assert stem_faults(observed(*points)) == ()


def test_a_sheared_key_is_named_and_has_no_slope() -> None:
    """The sensor strokes perfectly; the valve stands still."""
    points = [at(p, up=True, stem=0.002, travel=p / 100) for p in (0, 25, 50)]
    assert stem_sensor_figures(observed(*points)) == ()
    (fault,) = stem_faults(observed(*points))
    assert "sensor went over 50 % of travel and the stem over 0.0 %" in fault
    assert "sheared" in fault


def test_too_little_to_tell_says_nothing() -> None:
    """Two points, a sensor that is not read, or points all in one place."""
    two = observed(at(0, up=True, stem=0.0, travel=0.0), at(50, up=True, stem=0.5, travel=0.5))
    assert stem_sensor_figures(two) == ()
    blind = observed(*(at(p, up=True, stem=p / 100, travel=None) for p in (0, 25, 50, 75)))
    assert not stem_sensor_figures(blind)
    assert not stem_faults(blind)
    near = observed(*(at(p, up=True, stem=0.5 + p / 1000, travel=0.5 + p / 1000) for p in (0, 25, 50)))
    assert not stem_sensor_figures(near)
    assert not stem_faults(near)

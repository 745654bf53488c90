"""Times from outside the link: what each timer is worth, and that its interval holds the truth."""

import math
import random

import pytest

from commission.analysis.film_clock import REDRAWN_S, SCREEN_REFRESH_S
from commission.analysis.intervals import Instant
from commission.analysis.outside_times import (
    NAME,
    REACTION_S,
    OutsideTimes,
    Source,
    Timer,
    lines_of,
    outside_figure,
    timer_of,
)

ROUNDS = 2000


@pytest.mark.parametrize(
    ("text", "timer"),
    [
        ("link", Timer(Source.LINK)),
        ("key", Timer(Source.KEY)),
        ("log", Timer(Source.LOG, 1.0)),
        ("Log 0.1 s", Timer(Source.LOG, 0.1)),
        ("recorder 20 ms", Timer(Source.RECORDER, 0.02)),
        ("recorder 0,02", Timer(Source.RECORDER, 0.02)),
        ("film 25 fps", Timer(Source.FILM, 0.04)),
    ],
)
def test_a_timer_is_understood_as_it_is_written(text: str, timer: Timer) -> None:
    """With its step, in seconds; a film by its frames a second."""
    assert timer_of(text) == timer


@pytest.mark.parametrize("text", ["", "watch", "recorder", "film", "film 0.02 s", "recorder 30 fps", "film 0 fps"])
def test_a_timer_that_is_none_says_what_one_looks_like(text: str) -> None:
    """A film has frames a second, a recorder seconds, and neither is without."""
    with pytest.raises(ValueError, match=r"recorder 0\.02 s"):
        timer_of(text)


def drawn(timer: Timer, true_s: float, dice: random.Random) -> float:
    """What this timer shows of a moment: written down from what each does, not from the program's lines."""
    match timer.source:
        case Source.RECORDER | Source.LOG:  # the record nearest to it
            beat = dice.random() * timer.step_s
            return round((true_s - beat) / timer.step_s) * timer.step_s + beat
        case Source.KEY:
            return true_s + dice.uniform(-REACTION_S, REACTION_S)
        case Source.FILM:
            frame = timer.step_s
            beat = dice.random() * frame
            filmed_s = round((true_s - beat) / frame) * frame + beat
            lit_s = filmed_s - dice.uniform(0, SCREEN_REFRESH_S)
            return lit_s - dice.uniform(0, REDRAWN_S)
    raise AssertionError(timer)


@pytest.mark.parametrize(
    "text", ["recorder 0.02 s", "log 1 s", "key", pytest.param("film 30 fps", marks=pytest.mark.long)]
)
def test_the_interval_holds_the_truth(text: str) -> None:
    """In at least 93.5 % of 2,000 strokes, for each timer by both of its readings."""
    timer, dice, held = timer_of(text), random.Random(7), 0
    for _ in range(ROUNDS):
        begun_s, lasts_s = dice.uniform(0, 100), dice.uniform(5, 12)
        times = OutsideTimes(
            timer=timer, begun_s=drawn(timer, begun_s, dice), home_s=drawn(timer, begun_s + lasts_s, dice)
        )
        figure = outside_figure(times, None)
        held += abs(float(figure.value) - lasts_s) <= float(figure.expanded_uncertainty)
    assert held / ROUNDS >= 0.935


def test_the_interval_of_two_clocks_holds_the_truth_too() -> None:
    """Begun by the unit's bit, ended by the event log: the offset taken by voice is in it with its second."""
    timer, dice, held = timer_of("log 1 s"), random.Random(9), 0
    for _ in range(ROUNDS):
        begun_s, lasts_s, offset_s = dice.uniform(0, 100), dice.uniform(5, 12), dice.uniform(-1, 1)
        width_ns = 100_000_000
        t0 = Instant(round((begun_s + dice.uniform(-0.05, 0.05)) * 1e9), (width_ns,), sources=("poll",))
        home_s = drawn(timer, begun_s + lasts_s, dice) + offset_s
        figure = outside_figure(OutsideTimes(timer=timer, begun_s=None, home_s=home_s), t0)
        held += abs(float(figure.value) - lasts_s) <= float(figure.expanded_uncertainty)
    assert held / ROUNDS >= 0.935


def test_the_sum_is_that_of_the_guide_to_uncertainty() -> None:
    """Two uniform terms of ±0.5 s: the triangle's 95 % half-width, 1 − √0.05 (JCGM 101:2008, 6.4.5)."""
    figure = outside_figure(OutsideTimes(timer=timer_of("log 1 s"), begun_s=10.0, home_s=18.0), None)
    assert float(figure.expanded_uncertainty) == pytest.approx(1 - math.sqrt(0.05), abs=0.01)
    assert [line.name for line in figure.budget] == ["start: last digit of the log", "end: last digit of the log"]


def test_a_beginning_by_first_motion_is_at_least() -> None:
    """What lies before the motion is not in it: it may fail an upper limit and pass none (safety rule R19)."""
    times = OutsideTimes(timer=timer_of("film 30 fps"), begun_s=1.0, home_s=9.0, from_motion=True)
    figure = outside_figure(times, None)
    assert (figure.name, figure.lower_bound_only) == (NAME, True)
    assert "at least" in figure.note
    assert "film clock, 30 frames/s" in figure.note


def test_no_beginning_and_no_time_that_runs_back() -> None:
    """Nobody saw it begin; or it ended before it began."""
    timer = timer_of("log")
    with pytest.raises(ValueError, match="when it began"):
        outside_figure(OutsideTimes(timer=timer, begun_s=None, home_s=9.0), None)
    with pytest.raises(ValueError, match="before it began"):
        outside_figure(OutsideTimes(timer=timer, begun_s=9.0, home_s=8.0), None)
    assert lines_of(Timer(Source.LINK), "start") == ()

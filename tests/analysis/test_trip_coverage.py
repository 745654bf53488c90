"""
Do the 95 % intervals of delay and trip point hold the truth 95 times in a hundred, no wider than they must?

2,000 seeded cases each, fixed before the code: at least 93.5 % held, mean width at most 1.3 times the narrowest that
holds 95 %. Truth is drawn: trip point, delay, slope of the step, when it is read, what the gauge is off.
"""

import math
import random
from collections.abc import Callable
from statistics import mean

import pytest

from commission.analysis.gauge import gauge_of
from commission.analysis.trip import Side, trip_set
from commission.analysis.trip_delay import DelaySeen, delay_figures
from commission.analysis.trip_point import Approach, TripPointSeen, point_figures
from tests.analysis.monitors import stretch
from tests.procedures.monitored import GAUGE
from tests.sheet.xv import xv_1101

CASES = 2000
FIRST_SEED = 81_000
SHEET = xv_1101()
HIGH = trip_set(SHEET, Side.HIGH)
GAUGE_OFF = gauge_of(GAUGE)

Case = tuple[float, float]
"""Error and half-width of one case."""


def a_delay(chance: random.Random, bar_s: float) -> Case:
    """A step of 13 bar at a rate, past a trip point that lies anywhere within its tolerance."""
    point, delay_s, begun_s = 70 + chance.uniform(-1, 1), chance.uniform(2, 5), 1 + chance.random()

    def pressure(at_s: float) -> float:
        return min(73.0, 60.0 + bar_s * max(0.0, at_s - begun_s))

    trip_s = begun_s + (point - 60.0) / bar_s + delay_s
    seen = stretch(pressure, trip_s + 0.3, trip_s=trip_s, seed=chance.randrange(10**9))
    figure = delay_figures(DelaySeen(test="", side=Side.HIGH, step=seen), SHEET)[0]
    return figure.unrounded - delay_s, float(figure.expanded_uncertainty)


def a_quick_delay(chance: random.Random) -> Case:
    """By a quick hand: within one sample."""
    return a_delay(chance, 1000.0)


def a_slow_delay(chance: random.Random) -> Case:
    """By a slow hand pump: the tolerance of the trip point is most of it."""
    return a_delay(chance, chance.uniform(1.5, 4.0))


def a_trip_point(chance: random.Random) -> Case:
    """A staircase of full steps with a gauge that is off within its data sheet, and read to a tenth."""
    step, point, held_s = 0.2, 70 + chance.uniform(-0.9, 0.9), 6.2
    begins = 68.8 + chance.random() * step
    number = math.ceil((point - begins) / step)
    trip_s = number * held_s + 3.0
    off, monitor_off = chance.uniform(-0.1, 0.1), chance.gauss(0, 0.3)

    def pressure(at_s: float) -> float:
        return begins + step * min(number, math.floor(at_s / held_s))

    seen = stretch(
        pressure,
        trip_s + 0.15,
        trip_s=trip_s,
        noise_bar=0.02,
        seed=chance.randrange(10**9),
        first_s=trip_s - 6.3,
        period_s=0.2,
    )
    true_bar = pressure(trip_s) - monitor_off
    approach = Approach(seen=seen, gauge_bar=round(true_bar + off, 1), reading_pa=pressure(trip_s) * 1e5)
    observed = TripPointSeen(test="", side=Side.HIGH, gauge=GAUGE_OFF, approaches=(approach,))
    figure = point_figures(observed, SHEET)[0]
    return figure.unrounded - (point - monitor_off) * 1e5, float(figure.expanded_uncertainty)


@pytest.mark.parametrize("case", [a_quick_delay, a_slow_delay, a_trip_point], ids=lambda case: case.__name__)
def test_intervals_hold_the_truth_and_are_no_wider_than_they_must(case: Callable[[random.Random], Case]) -> None:
    """93.5 % at least, and 1.3 times the narrowest at most (of widths in the same proportion from case to case)."""
    cases = [case(random.Random(FIRST_SEED + number)) for number in range(CASES)]
    held = sum(abs(error) <= half for error, half in cases) / CASES
    assert held >= 0.935, held
    ratios = sorted(abs(error) / half for error, half in cases)
    narrowest = ratios[math.ceil(0.95 * CASES) - 1]
    constant = sorted(abs(error) for error, _ in cases)[math.ceil(0.95 * CASES) - 1]
    width = mean(half for _, half in cases)
    assert width / max(constant, narrowest * width) <= 1.3, (held, width, constant, narrowest)

"""
Do the 95 % intervals of responses, cycles, small steps, starts and supplies hold the truth 95 times in a hundred?

As `test_figure_coverage`: 2,000 seeded cases each; at least 93.5 % held, mean width at most 1.3 times the narrowest.
What a figure leaves out (too much noise for it) is not counted, and is at most a third; "at least" is held as a bound.
"""

import math
import random
from collections.abc import Callable
from statistics import mean

import pytest

from commission.analysis.budget import rectangular
from commission.analysis.hunting import hunting_figures
from commission.analysis.intervals import Instant
from commission.analysis.profile import stick_slip
from commission.analysis.repeats import repeatability
from commission.analysis.response import StepSeen, step_figures
from commission.analysis.small_steps import Settled, ramp_hysteresis, resolution
from commission.analysis.supply_trace import dip_figures, insulation_at_40, source_resistance
from commission.figure import Figure, make_figure
from commission.sheet.decode import Reading
from tests.analysis.coverage import CASES, Case, assert_held, made, of
from tests.analysis.test_figure_coverage import polled

Maybe = Case | None
"""Error and half-width of one case; None where the figure was left out."""

STEP = 0.1
"""Each step of the input is 10 %."""


def stepped(response: Callable[[float], float], read: tuple[random.Random, float, float, float]) -> dict[str, Figure]:
    """Figures of a step at 1 s: the random numbers, the last second, the period and the noise of its readings."""
    random_, last_s, period_s, noise = read
    travel = tuple(polled(random_, lambda at: 0.5 + STEP * response(at - 1), last_s, period_s, noise))
    return {f.name: f for f in step_figures(StepSeen(command=Instant(10**9), size=STEP, travel=travel, scan_ns=0))}


def first_order(name: str, noise: tuple[float, float] = (4e-4, 4e-4)) -> Callable[[random.Random], Maybe]:
    """A lag of 0.6 to 1 s after a dead time."""

    def case(random_: random.Random) -> Maybe:
        dead_s, lag_s = random_.uniform(0.2, 0.5), random_.uniform(0.6, 1.0)
        truth = {
            "t63": dead_s + lag_s, "t86": dead_s + 2 * lag_s, "t98": dead_s + 4 * lag_s, "model_lag": lag_s,
            "model_dead_time": dead_s, "travel_gain": 1.0,
        }[name]  # fmt: skip
        read = (random_, 1 + dead_s + 12 * lag_s, 0.1, random_.uniform(*noise))
        found = stepped(lambda t: 0.0 if t < dead_s else 1 - math.exp(-(t - dead_s) / lag_s), read)
        return of(found.get(name), truth)

    return case


def rate_limited(name: str) -> Callable[[random.Random], Maybe]:
    """A valve that goes at one speed, as a hydraulic one does."""

    def case(random_: random.Random) -> Maybe:
        dead_s, seconds = random_.uniform(0.2, 0.5), STEP / random_.uniform(0.1, 0.2)
        share = {"step_dead_time": 0.0, "t63": 1 - math.exp(-1), "t86": 1 - math.exp(-2), "settling_time": 0.98}[name]
        read = (random_, 6.0, 0.05, 2e-4 if name == "settling_time" else 4e-4)
        found = stepped(lambda t: min(1.0, max(0.0, (t - dead_s) / seconds)), read)
        return of(found.get(name), dead_s + share * seconds)

    return case


def second_order(name: str) -> Callable[[random.Random], Maybe]:
    """A swing that dies out, exactly."""

    def case(random_: random.Random) -> Maybe:
        damping, natural = random_.uniform(0.35, 0.7), random_.uniform(1.0, 2.0)
        dead_s = random_.uniform(0.2, 0.5)
        beat = natural * math.sqrt(1 - damping**2)

        def left(t: float) -> float:
            swing = math.cos(beat * t) + damping / math.sqrt(1 - damping**2) * math.sin(beat * t)
            return math.exp(-damping * natural * t) * swing

        lasts_s = 10 / (damping * natural)
        settled_s = next(0.002 * n for n in range(round(lasts_s / 0.002), 0, -1) if abs(left(0.002 * n)) > 0.02)
        truth = {
            "overshoot": math.exp(-math.pi * damping / math.sqrt(1 - damping**2)), "travel_gain": 1.0,
            "settling_time": dead_s + settled_s,
        }[name]  # fmt: skip
        read = (random_, 1 + dead_s + lasts_s, 0.05, 2e-4)
        found = stepped(lambda t: 0.0 if t < dead_s else 1 - left(t - dead_s), read)
        return of(found.get(name), truth)

    return case


def hunting(name: str) -> Callable[[random.Random], Maybe]:
    """Five minutes of a swing of 0.5 to 2 %, read once a second."""

    def case(random_: random.Random) -> Maybe:
        high, period_s = random_.uniform(0.005, 0.02), random_.uniform(20, 60)
        begun_s = random_.random() * period_s
        swing = polled(
            random_, lambda t: 0.5 + high / 2 * math.sin(2 * math.pi * (t + begun_s) / period_s), 300.0, 1.0, 2e-4
        )
        found = {figure.name: figure for figure in hunting_figures(tuple(swing))}
        return of(found.get(name), high if name == "hunting_amplitude" else period_s)

    return case


def even_starts(random_: random.Random) -> Maybe:
    """Starts at even intervals, counted over an hour from any moment on."""
    every_s = random_.uniform(200, 2000)
    first_s = random_.random() * every_s
    count = math.floor((3600 - first_s) / every_s) + 1
    return count - 3600 / every_s, 0.95


def sticking(random_: random.Random) -> Maybe:
    """A staircase: the index of the noiseless one."""
    stair, moving_s, begun_s = random_.uniform(0.01, 0.03), random_.uniform(6, 9), random_.random() * 0.08

    def stairs(at_s: float) -> float:
        return min(1.0, math.floor(min(1.0, max(0.0, (at_s - 1) / moving_s)) / stair) * stair)

    exact, read = [], []
    for number in range(round((moving_s + 3) / 0.08)):
        at_s = begun_s + 0.08 * number
        shown = stairs(at_s + random_.uniform(-0.003, 0.003)) + random_.gauss(0, 4e-4)
        exact.append(Reading(stairs(at_s), round(at_s * 1e9), 0))
        read.append(Reading(shown, round(at_s * 1e9), 3_000_000))
    span = (round(1.3e9), round((moving_s + 0.7) * 1e9))
    truth, found = stick_slip(tuple(exact), *span), stick_slip(tuple(read), *span)
    assert truth is not None
    return of(found, truth.unrounded)


def smooth(random_: random.Random) -> Maybe:
    """A curved stroke that does not stick: nought."""
    moving_s = random_.uniform(6, 9)

    def way(at_s: float) -> float:
        share = min(1.0, max(0.0, (at_s - 1) / moving_s))
        return share - 0.1 * share * (1 - share)

    read = tuple(polled(random_, way, moving_s + 3, 0.08, 4e-4))
    return of(stick_slip(read, round(1.3e9), round((moving_s + 0.7) * 1e9)), 0.0)


def finest_step(random_: random.Random) -> Maybe:
    """A valve that sticks until the input is so far away, then goes to it; steps of 0.1 %."""
    truth, travel, command = random_.uniform(0.001, 0.008), 0.5, 0.5
    points = [Settled(command, travel + random_.gauss(0, 1e-4))]
    for _ in range(30):
        command += 0.001
        travel = command if command - travel >= truth - 1e-12 else travel
        points.append(Settled(command, travel + random_.gauss(0, 1e-4)))
    return of(resolution(points, 1e-4), truth)


def apart(peaked: float) -> Callable[[random.Random], Maybe]:
    """Two ramps that are apart by the same everywhere, or most in the middle."""

    def case(random_: random.Random) -> Maybe:
        band, count = random_.uniform(0.003, 0.02), random_.randint(20, 80)
        ramps: tuple[list[Settled], list[Settled]] = ([], [])
        for place in range(count + 1):
            share = place / count
            half = band / 2 * (1 - peaked * (1 - math.sin(math.pi * share)))
            for ramp, way in zip(ramps, (-1, 1), strict=True):
                ramp.append(Settled(0.3 + 0.4 * share, 0.3 + 0.4 * share + way * half + random_.gauss(0, 1e-4)))
        return of(ramp_hysteresis(*ramps, 1e-4), band)

    return case


def start_of_a_motor(place: int) -> Callable[[random.Random], Maybe]:
    """Volts before, lowest at, and after a start, and the dip, each reading within its instrument's bound."""

    def case(random_: random.Random) -> Maybe:
        on_s, low, lasts_s = 2 + random_.random(), 26.0 - random_.uniform(1, 3), random_.uniform(0.5, 1.5)
        own = [random_.uniform(-0.1, 0.1) for _ in range(2)]
        first_s = random_.random() * 0.1
        supply, motor = [], []
        for number in range(100):
            at_s = first_s + 0.1 * number
            volts = 26.0 + own[0] if at_s < on_s else (low if at_s < on_s + lasts_s else 25.1) + own[1]
            supply.append(Reading(volts + random_.gauss(0, 0.02), round(at_s * 1e9), 0))
            motor.append(Reading(float(at_s >= on_s), round(at_s * 1e9), 0))
        figure = dip_figures(tuple(supply), tuple(motor), (rectangular("own", 0.1),))[place]
        error = figure.unrounded - (26.0, low, 25.1, (26 - low) / 26)[place]
        return error, float(figure.expanded_uncertainty)

    return case


def insulation(random_: random.Random) -> Maybe:
    """A reading within 5 % at a temperature within 2 K."""
    celsius, truth = random_.uniform(10, 35), 500e6
    read = truth * 0.5 ** ((celsius - 40) / 10) * (1 + random_.uniform(-0.05, 0.05))
    meter = (rectangular("meter", 0.05 * read),)
    return of(insulation_at_40(read, celsius + random_.uniform(-2, 2), meter), truth)


def source(random_: random.Random) -> Maybe:
    """Two readings of one meter, each within its last digit."""
    rest, loaded = 26 + random_.uniform(-0.005, 0.005), 26 - 0.046 * 19.6 + random_.uniform(-0.005, 0.005)
    return of(source_resistance(rest, loaded, 19.6, (rectangular("digit", 0.005),)), 0.046)


def strokes_apart(scatter_s: float) -> Callable[[random.Random], Maybe]:
    """Three strokes whose true times scatter by so much, each known to 30 ms."""

    def case(random_: random.Random) -> Maybe:
        true_s = [8 + random_.gauss(0, scatter_s) for _ in range(3)]
        truth = max(abs(time - mean(true_s)) for time in true_s) / mean(true_s)
        read = [make_figure("t", time + random_.gauss(0, 0.03), 1.96 * 0.03, "s", "x") for time in true_s]
        return of(repeatability(read), truth)

    return case


QUICK = {
    "starts an hour": even_starts,
    "resolution": finest_step,
    "insulation": insulation,
    "resistance of the source": source,
    **{f"repeatability, {scatter} s": strokes_apart(scatter) for scatter in (0.0, 0.03, 0.2)},
}

LONG = {
    **{f"first order, {name}": first_order(name) for name in ("t63", "t86", "model_lag", "model_dead_time")},
    "first order, travel_gain": first_order("travel_gain"),
    "first order, t98": first_order("t98", (1e-4, 1.8e-4)),
    **{f"one speed, {name}": rate_limited(name) for name in ("step_dead_time", "t63", "t86", "settling_time")},
    **{f"second order, {name}": second_order(name) for name in ("overshoot", "travel_gain", "settling_time")},
    **{name: hunting(name) for name in ("hunting_amplitude", "hunting_period")},
    "sticking": sticking,
    "smooth": smooth,
    "hysteresis, even": apart(0.0),
    "hysteresis, in the middle": apart(1.0),
    **{f"supply {name}": start_of_a_motor(n) for n, name in enumerate(("before", "lowest", "running", "dip"))},
}

EVERY = [
    *(pytest.param(case, id=name) for name, case in QUICK.items()),
    *(pytest.param(case, id=name, marks=pytest.mark.deep) for name, case in LONG.items()),
]


@pytest.mark.parametrize("case", EVERY)
def test_intervals_hold_the_truth_and_are_no_wider_than_needed(case: Callable[[random.Random], Maybe]) -> None:
    """At least 93.5 % of those that were given, and at most 1.3 times the narrowest."""
    assert_held(made(case, CASES))

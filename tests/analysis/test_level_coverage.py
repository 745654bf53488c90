"""
Do the 95 % intervals of levels hold the truth: largest pressure and current, where travel came to rest, the monitor?

As `test_figure_coverage`. The largest is that of the true values at the readings: what lies between two readings is
said beside the figure, and no reading can tell it.
"""

import math
import random
from collections.abc import Callable

import pytest

from commission.analysis.extremes import _largest, final_travel
from commission.analysis.gauge import gauge_of
from commission.analysis.intervals import Instant
from commission.analysis.monitor import MonitorReading, MonitorSeen, monitor_figures
from commission.sheet.decode import Reading
from tests.analysis.coverage import CASES, FIRST_SEED, SOME, Case, assert_held, made
from tests.analysis.seen import SHEET
from tests.procedures.monitored import GAUGE

Shape = Callable[[float], float]
"""A level over the share of the time that it was watched."""


def largest(
    role: str, shape: Shape, size: float, noise: float, counts: tuple[int, int] = (40, 300)
) -> Callable[[random.Random], Case]:
    """The largest of so many readings."""

    def case(random_: random.Random) -> Case:
        count = random_.randint(*counts)
        true = [size * shape(place / count) for place in range(count)]
        read = tuple(Reading(one + random_.gauss(0, noise), 10**8 * n, 0) for n, one in enumerate(true))
        found = _largest("largest", role, read, SHEET)
        return found.unrounded - max(true), float(found.expanded_uncertainty)

    return case


def counted(random_: random.Random) -> Case:
    """A current that does not change, in whole counts of 0.01 A."""
    true = 19.6 + random_.uniform(0, 0.01)
    read = tuple(Reading(round(true + random_.gauss(0, 0.003), 2), 10**8 * n, 0) for n in range(150))
    found = _largest("current_max", "motor_current", read, SHEET)
    return found.unrounded - true, float(found.expanded_uncertainty)


def at_rest(step: float, period_s: float) -> Callable[[random.Random], Case]:
    """Travel that came to rest two seconds before the last reading, in steps of its register or none."""

    def case(random_: random.Random) -> Case:
        rest, end_s = 1 + random_.uniform(-0.01, 0.01), random_.uniform(2, 3)
        read = []
        for number in range(round((end_s + 2) / period_s)):
            at_s = period_s * number
            value = rest - 0.2 * max(0.0, end_s - at_s) + random_.gauss(0, max(4e-4, step))
            read.append(Reading(round(value / step) * step if step else value, round(at_s * 1e9), 0))
        found = final_travel(tuple(read), Instant(round(end_s * 1e9)), step)
        return found.unrounded - rest, float(found.expanded_uncertainty)

    return case


WIDEST = 1.4
"""How many readings are as near to being the largest is itself read, so a hump is held by 1.35 of the narrowest."""

QUICK = {
    "pressure that holds": largest("cylinder_pressure", lambda _: 1.0, 125e5, 1e4),
    "pressure read a few times": largest("cylinder_pressure", lambda _: 1.0, 125e5, 1e4, (4, 12)),
    "pressure that rises and is let go": largest("cylinder_pressure", lambda s: s if s < 0.8 else 0.0, 125e5, 1e4),
    "pressure with a hump": largest("cylinder_pressure", lambda s: math.sin(math.pi * s), 80e5, 3e4),
    "current that starts high": largest("motor_current", lambda s: 0.3 + 0.7 * math.exp(-20 * s), 60.0, 0.2),
    "current in counts": counted,
    "travel at rest": at_rest(0.0, 0.05),
    "travel at rest, read slowly": at_rest(0.0, 0.4),
    "travel at rest, in counts": at_rest(1e-3, 0.05),
}


@pytest.mark.parametrize("name", QUICK)
def test_levels_hold_the_truth(name: str) -> None:
    """At least 93.5 % of 2,000 (fewer where each is many readings), and at most 1.4 times the narrowest."""
    assert_held(made(QUICK[name], SOME), widest=WIDEST)


@pytest.mark.deep
@pytest.mark.parametrize("name", QUICK)
def test_levels_hold_the_truth_in_2000(name: str) -> None:
    """The same in full."""
    assert_held(made(QUICK[name], CASES), widest=WIDEST)


def monitored(off_bar: float) -> dict[str, list[Case]]:
    """A transmitter's cycle against a gauge whose error is its own at each point, 400 times."""
    gauge = gauge_of(GAUGE)
    found: dict[str, list[Case]] = {}
    bound_pa = gauge.tolerance_pa(50.0)
    for seed in range(SOME):
        random_ = random.Random(FIRST_SEED + seed)
        zero, gain, lost = (off_bar * 1e5 * random_.uniform(-1, 1) for _ in range(3))
        own = {point: random_.uniform(-bound_pa, bound_pa) for point in range(0, 101, 25)}
        points = [*((point, True) for point in own), *((point, False) for point in reversed(own))]
        true, read = [], []
        for point, up in points:
            bar = min(98.5, max(1.5, point)) + random_.uniform(-0.5, 0.5)
            reading_pa = bar * 1e5 + zero + gain * point / 100 + (lost if up else 0.0)
            shown = round((bar + own[point] / 1e5) / 0.1) * 0.1
            noted = reading_pa + random_.gauss(0, 500)
            true.append(MonitorReading(point_pct=point, up=up, gauge_bar=bar, reading_pa=reading_pa))
            read.append(MonitorReading(point_pct=point, up=up, gauge_bar=shown, reading_pa=noted, noise_pa=500))
        seen = [MonitorSeen(test="O2 1", gauge=gauge, readings=tuple(one), wanted=10) for one in (true, read)]
        truth = {figure.name: figure.unrounded for figure in monitor_figures(seen[0], SHEET)}
        for figure in monitor_figures(seen[1], SHEET):
            error = figure.unrounded - truth[figure.name]
            if figure.name == "monitor_largest_error":
                error = abs(figure.unrounded) - abs(truth[figure.name])
            name = "point" if "error_up" in figure.name or "error_down" in figure.name else figure.name
            found.setdefault(name, []).append((error, float(figure.expanded_uncertainty)))
    return found


@pytest.mark.parametrize("off_bar", [pytest.param(0.0, id="perfect"), pytest.param(0.5, id="half a bar off")])
def test_the_monitor_s_figures_hold_the_truth(off_bar: float) -> None:
    """Largest error, zero, span, hysteresis and each point of 400 cycles."""
    found = monitored(off_bar)
    assert set(found) == {
        "monitor_largest_error", "monitor_zero_error", "monitor_span_error", "monitor_hysteresis", "point",
    }  # fmt: skip
    for name, cases in found.items():
        try:
            assert_held(cases, widest=WIDEST)
        except AssertionError as error:
            raise AssertionError(f"{name}: {error}") from error

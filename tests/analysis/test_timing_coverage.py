"""
Does the 95 % interval hold the truth 95 times in a hundred, and is it no wider than it must be?

2,000 synthetic strokes a line, seeds fixed before the code: true times from the closed form of `strokes`.
"""

import random
from collections.abc import Iterator
from statistics import mean

import msgspec
import pytest

from commission.analysis.timing import stroke_figures
from tests.analysis.seen import SHEET, observe
from tests.procedures.strokes import Line, Stroke

STROKES = 2000

LINES = {
    "serial, 42.5 ms a cycle, 20 ms scan": Line(0.0425, 0.004, 0.02, 0.0002, 0.002),
    "slow, 200 ms a cycle, 50 ms scan": Line(0.2, 0.01, 0.05, 0.0004, 0.01),
}

TIMES = ("response_time", "traverse_time", "motion_time", "dead_time", "travel_50_pct_time")
OF_OPENING = ("pressure_dead_time", "load_dead_time", "motor_run")


PUMP = "pump stroke of a minute, 100 ms a cycle"

EVERY_LINE = [
    *(pytest.param(line, 1.0, id=name, marks=pytest.mark.long) for name, line in LINES.items()),
    pytest.param(Line(0.1, 0.005, 0.02, 0.0005, 0.005), 15.0, id=PUMP, marks=pytest.mark.deep),
]


def strokes(slower: float) -> Iterator[tuple[int, Stroke]]:
    """Strokes of all shapes and both directions, and so many times slower."""
    for seed in range(STROKES):
        random_ = random.Random(10_000 + seed)
        stroke = Stroke(
            command_s=1.0 + random_.random(),
            dead_s=(0.25 + 0.3 * random_.random()) * min(slower, 5.0),
            moving_s=(3 + 2 * random_.random()) * slower,
            bend=random_.uniform(-0.2, 0.2),
            opening=random_.random() < 0.5,
        )
        yield seed, msgspec.structs.replace(stroke, last_s=stroke.end_s + 1.5)


@pytest.mark.parametrize(("line", "slower"), EVERY_LINE)
def test_intervals_cover_and_are_no_wider_than_needed(line: Line, slower: float) -> None:
    """
    Bias below a tenth of the sample period; coverage at least 93.5 %; mean width at most 1.3 times the narrowest
    constant width that holds 95 % of the errors.
    """
    sheet = msgspec.structs.replace(SHEET, link=msgspec.structs.replace(SHEET.link, scan_s=line.scan_s))
    errors: dict[str, list[float]] = {time: [] for time in (*TIMES, *OF_OPENING)}
    widths: dict[str, list[float]] = {time: [] for time in (*TIMES, *OF_OPENING)}
    for seed, stroke in strokes(slower):
        true_s = {
            "response_time": stroke.home_s - stroke.command_s,
            "traverse_time": stroke.home_s - stroke.left_s,
            "motion_time": stroke.moving_s,
            "dead_time": stroke.dead_s,
            "travel_50_pct_time": stroke.when(0.5) - stroke.command_s,
        }
        if stroke.opening:  # only then is there a motor, and a pressure that changes before the motion
            true_s |= {
                "pressure_dead_time": 0.4 * stroke.dead_s,
                "load_dead_time": 0.6 * stroke.dead_s,
                "motor_run": 0.6 * stroke.dead_s + stroke.moving_s + 0.5,
            }
        for figure in stroke_figures(observe(stroke, line, seed), sheet):
            if figure.name in true_s:
                errors[figure.name].append(figure.unrounded - true_s[figure.name])
                widths[figure.name].append(float(figure.expanded_uncertainty))
    for time in (*TIMES, *OF_OPENING):
        count = len(errors[time])
        assert count == STROKES if time in TIMES else count > 0.45 * STROKES, time
        narrowest = sorted(abs(error) for error in errors[time])[round(0.95 * count)]
        covered = sum(abs(e) <= w for e, w in zip(errors[time], widths[time], strict=True)) / count
        assert abs(mean(errors[time])) < line.period_s / 10, time
        assert covered >= 0.935, time
        assert mean(widths[time]) <= 1.3 * narrowest, time

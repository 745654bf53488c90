"""Tests of strokes taken together."""

from collections.abc import Sequence

import msgspec
import pytest

from commission.analysis.budget import Budget, normal, rectangular
from commission.figure import Figure, Verdict, make_figure
from commission.job.motions import Run
from commission.job.series import compare
from tests.report.jobs import good_visit

VISIT = good_visit()
SHEET = VISIT.job.sheet
RUNS = tuple(VISIT.job.runs.values())


def with_figures(run: Run, *more: Figure) -> Run:
    """The run with these figures in place of those of the same name."""
    names = {figure.name for figure in more}
    kept = tuple(figure for figure in run.figures if figure.name not in names)
    return msgspec.structs.replace(run, figures=(*kept, *more))


def seconds(name: str, value: float, u: float) -> Figure:
    """A time."""
    return make_figure(name, value, u, "s", "test/1")


def pressure(bar: float) -> Figure:
    """The running pressure at half travel."""
    lines = (normal("scatter", 1e4), rectangular("transmitter, 0.5 % of 0 to 160 bar", 8e4))
    return Budget(lines).figure("running_pressure_50_pct", bar * 1e5, "Pa", "loads.stroke/1")


def names(figures: Sequence[Figure]) -> list[str]:
    """Their names."""
    return [figure.name for figure in figures]


def test_three_strokes_each_way_are_judged_together() -> None:
    """145.93, 146.42, 146.21 s and 8.052, 7.981, 8.024 s: both repeat within 5 %; opening takes 18.2 times as long."""
    together = compare("K1", RUNS, SHEET)
    assert together is not None
    assert names(together.figures) == ["repeatability_opening", "repeatability_closing", "opening_to_closing_ratio"]
    assert [result.verdict for result in together.results] == [Verdict.PASS, Verdict.PASS]
    assert together.figures[1].unrounded == pytest.approx(0.038 / 8.019, rel=0.02)
    assert together.figures[2].unrounded == pytest.approx(18.2, abs=0.1)
    assert {result.origin for result in together.results} == {
        "three strokes within ± 5 % of their mean; common practice, no source"
    }
    assert together.runs == ("r1", "r2", "r3", "r4", "r5", "r6")


def test_a_stroke_that_differs_fails_them_together() -> None:
    """8.05, 7.98 and 9.6 s: each within its limits, and 12 % from their mean."""
    odd = with_figures(RUNS[5], seconds("response_time", 9.6, 0.06))
    together = compare("K1", (*RUNS[:5], odd), SHEET)
    assert together is not None
    assert together.results[1].verdict == Verdict.FAIL
    assert together.results[1].test == "K1 closing strokes together"


def test_the_time_that_is_known_best_is_compared() -> None:
    """Where a slow line knows the motion time better than the one with a limit, in every run, that one is taken."""
    runs = [
        with_figures(run, seconds("response_time", 8.0, 0.5), seconds("motion_time", 7.9, 0.05)) for run in RUNS[3:]
    ]
    together = compare("K1", runs, SHEET)
    assert together is not None
    assert "mean motion time" in together.figures[0].note
    part = [*runs[:2], with_figures(RUNS[5], seconds("response_time", 8.0, 0.5))]
    without = compare("K1", part, SHEET)
    assert without is not None
    assert "mean response time" in without.figures[0].note


def test_friction_and_spring_come_from_the_last_stroke_each_way() -> None:
    """70.1 and 34.2 bar at half travel: 22 kN of friction; an earlier stroke's pressure is not taken."""
    runs = [with_figures(run, pressure(99.0)) for run in RUNS]
    runs[2], runs[5] = with_figures(RUNS[2], pressure(70.1)), with_figures(RUNS[5], pressure(34.2))
    together = compare("K1", runs, SHEET)
    assert together is not None
    friction = together.figure("friction_50_pct")
    assert friction is not None
    assert friction.unrounded == pytest.approx(22.0e3, rel=0.005)
    assert together.figure("spring_force_50_pct") is not None


def test_two_strokes_or_times_that_are_only_lower_bounds_are_not_judged() -> None:
    """Nothing is said of how they repeat."""
    assert compare("K1", RUNS[:2], SHEET) is None
    assert compare("K1", (), SHEET) is None
    late = msgspec.structs.replace(seconds("response_time", 8.0, 0.1), lower_bound_only=True)
    assert compare("K1", (*RUNS[3:5], with_figures(RUNS[5], late)), SHEET) is None


def test_the_order_of_runs_does_not_matter() -> None:
    """They are taken in the order of the record."""
    assert compare("K1", tuple(reversed(RUNS)), SHEET) == compare("K1", RUNS, SHEET)

"""A time between two moments, and what its budget says."""

import pytest

from commission.analysis.durations import duration_figure, duration_lines
from commission.analysis.extremes import level_figures
from commission.analysis.intervals import READING, Instant, duration_s
from commission.analysis.moments import moments
from commission.analysis.timing import stroke_figures
from tests.analysis.seen import SHEET, observe
from tests.procedures.strokes import Line, Stroke

START = Instant(10**9, (20_000_000, 0), sources=("when the command arrived",), note="not answered")
END = Instant(3 * 10**9, (50_000_000, 8_000_000), noise_ns=4e6, sources=READING)


def test_a_time_is_that_of_its_interval_with_the_terms_of_both_moments() -> None:
    """Half widths in seconds; a term of nothing is left out; notes once each."""
    figure = duration_figure("dead_time", START, END, "x/1", note="seen", called=("command", "motion"))
    value_s, half_s = duration_s(START, END)
    assert (figure.unrounded, figure.unit, figure.method, figure.note) == (value_s, "s", "x/1", "seen; not answered")
    assert float(figure.expanded_uncertainty) == pytest.approx(half_s, rel=0.05)
    assert [line.name for line in figure.budget] == [
        "command: when the command arrived", "motion: the unit's scan", "motion: times of the readings",
        "motion: noise of travel",
    ]  # fmt: skip
    assert [line.width for line in duration_lines(START, END)] == [0.01, 0.025, 0.004, 0.004]


def test_at_least_is_said_first() -> None:
    """A lower bound and why."""
    figure = duration_figure("response_time", START, END, "x/1", at_least="no t0: at least this")
    assert figure.lower_bound_only
    assert figure.note == "no t0: at least this; not answered"


@pytest.mark.parametrize("opening", [True, False])
def test_every_uncertain_figure_of_a_stroke_has_its_lines(opening: bool) -> None:  # noqa: FBT001  # a direction
    """Nothing that has an uncertainty is without its budget (report appendix, export)."""
    observed = observe(Stroke(opening=opening), Line(), 1)
    figures = (*stroke_figures(observed, SHEET), *level_figures(observed, SHEET, moments(observed, SHEET)))
    assert [figure.name for figure in figures if figure.uncertainty_decimal and not figure.budget] == []

"""
Strokes taken together, figures computed from answers, and the uncertainty of figures line by line: the two tables that
follow the single strokes.

The record holds the budget of every figure (export as JSON); printed are those of what was judged and of the loads.
"""

from collections.abc import Iterator

import msgspec

from commission.figure import Figure
from commission.job import state
from commission.job.bodies import ResultDecided, SeriesCompared
from commission.report.display import figure_name, shown
from commission.report.figures import run_name
from commission.report.strokes import by_direction, limits_text
from commission.report.table import Row, Table

_TOGETHER = ("step", "figure", "measured (95 %)", "limit", "verdict", "from runs")
_LINES = ("figure", "line", "distribution", "half-width or u", "u", "sensitivity", "degrees of freedom", "adds", "%")
_LOADS = ("breakaway_pressure", "running_pressure_50_pct")

_WIDTH_NOTE = (
    "SI units. For a rectangular, triangular or trapezoidal line the half-width of its bounds, for a normal or t line"
    " its standard uncertainty; u: standard uncertainty of the input; adds: what it adds to that of the figure, times"
    " its sensitivity; %: its share of the variance (JCGM 100:2008). No degrees of freedom are written where they are"
    " infinite."
)


def together(job: state.Job) -> Table:
    """How the strokes of each step repeat and compare; friction and spring from the last stroke each way."""
    rows = [row for series in job.compared for row in _rows(job, series)]
    origins = dict.fromkeys(result.origin for series in job.compared for result in series.results)
    said = (f"{figure_name(f.name)}: {f.note}" for series in job.compared for f in series.figures if f.note)
    notes = (*origins, *dict.fromkeys(said))
    return Table(
        title="Strokes taken together, and what was computed from answers",
        columns=_TOGETHER,
        rows=tuple(rows),
        empty="nothing was compared",
        notes=notes,
    )


def _rows(job: state.Job, series: SeriesCompared) -> Iterator[Row]:
    decided = {result.figure: result for result in series.results}
    void = next((job.runs[name].voided_by for name in series.runs if name in job.runs and job.runs[name].voided_by), "")
    names = ", ".join(run_name(job.runs[name]) for name in series.runs if name in job.runs)
    names = names or ", ".join(f"{name} {value}" for name, value in series.answers.items())
    for figure in series.figures:
        result = decided.get(figure.name)
        limit = "no limit" if result is None else limits_text(result, figure)
        yield (series.step, figure_name(figure.name), str(shown(figure)), limit, _verdict(result, void), names)
        names = "the same"


def _verdict(result: ResultDecided | None, void: str) -> str:
    words = "not judged" if result is None else result.verdict
    if void:
        return f"void, repeat ({words}): {void}"
    return f"{words}; would settle it: {result.settles}" if result is not None and result.settles else words


def budgets(job: state.Job) -> Table:
    """The budgets of what was judged, of what was compared, and of the loads of the last stroke each way."""
    rows = [row for name, figure in _printed(job) for row in _budget_rows(name, figure)]
    return Table(
        title="Uncertainty, line by line",
        columns=_LINES,
        rows=tuple(rows),
        empty="no figure has lines",
        notes=(_WIDTH_NOTE,) if rows else (),
    )


def _printed(job: state.Job) -> Iterator[tuple[str, Figure]]:
    for runs in by_direction(job).values():
        measured = [run for run in runs if run.figures]
        for run in measured:
            judged = {result.figure for result in run.results}
            last = run is measured[-1]
            for figure in run.figures:
                if figure.name in judged or (last and figure.name in _LOADS):
                    yield run_name(run), figure
    for series in job.compared:
        for figure in series.figures:
            yield series.step, figure


def _budget_rows(name: str, figure: Figure) -> Iterator[Row]:
    unit = "" if figure.unit == "1" else f" {figure.unit}"
    heading = f"{figure_name(figure.name)}, {name}: {figure.value}{unit}, U {figure.expanded_uncertainty}{unit}"
    for line in figure.budget:
        facts = msgspec.structs.astuple(line)
        yield (heading, *(fact or "infinite" for fact in facts))
        heading = "as above"

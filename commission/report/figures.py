"""
The figures of runs that no limit applies to, side by side: all of them, or those that a page has room for.

What a reader has to know of figures is said once under them, with the names of those it is true of.
"""

from collections.abc import Collection, Mapping, Sequence

from commission.engineering.expectation import Expectation
from commission.figure import Figure
from commission.job.motions import Run
from commission.report.display import figure_name, shown
from commission.report.table import Table

_IN_FILES_ONLY = (
    "motion_time",
    "pressure_steady_after",
    "pressure_at_start",
    "running_pressure_25_pct",
    "running_pressure_75_pct",
    "end_to_middle_speed_ratio",
    "motor_run_per_travel",
    "supply_before_start",
    "supply_lowest_at_start",
)


def run_name(run: Run) -> str:
    """What a run is called: its test, with its id before it where the test's name does not already say it."""
    same = run.begun.run.replace("-", " ") == run.begun.test.replace("-", " ")
    return run.begun.test if same else f"{run.begun.run} {run.begun.test}".rstrip()


Beside = Mapping[str, Expectation]
"""What the sheet says of figures, by name."""


def all_figures(direction: str, runs: tuple[Run, ...], beside: Beside | None = None) -> Table:
    """Every figure that no limit was applied to, a column for each run that has any, computed ones before them."""
    return _figures(direction, runs, beside or {})


def brief_figures(direction: str, runs: tuple[Run, ...], beside: Beside | None = None) -> Table:
    """Those of them that are printed on the pages: without the crossings of travel and what is derived from others."""
    tenths = {figure.name for run in runs for figure in run.figures if figure.name.startswith("travel_")}
    return _figures(direction, runs, beside or {}, leave_out=(*_IN_FILES_ONLY, *tenths))


def _figures(direction: str, runs: tuple[Run, ...], beside: Beside, leave_out: Collection[str] = ()) -> Table:
    judged = {result.figure for run in runs for result in run.results} | set(leave_out)
    measured = [run for run in runs if run.figures]
    names = dict.fromkeys(figure.name for run in measured for figure in run.figures if figure.name not in judged)
    computed = bool(beside.keys() & names.keys())
    rows = tuple((figure_name(name), *_expected(name, beside, computed), *_cells(measured, name)) for name in names)
    heads = ("computed",) if computed else ()
    columns = ("figure", *heads, *(run_name(run) + (" (void)" if run.voided_by else "") for run in measured))
    notes = _notes([figure for run in measured for figure in run.figures if figure.name in names])
    return Table(title=f"Not judged, {direction}", columns=columns, rows=rows, notes=notes)


def _notes(figures: Sequence[Figure]) -> tuple[str, ...]:
    """What a reader has to know of the figures, each said once with the names of those it is true of."""
    names: dict[str, dict[str, None]] = {}
    for figure in figures:
        for part in filter(None, figure.note.split("; ")):
            names.setdefault(part, {})[figure_name(figure.name)] = None
    said: dict[tuple[str, ...], list[str]] = {}
    for part, of in names.items():
        said.setdefault(tuple(of), []).append(part)
    return tuple(f"{_capital(', '.join(of))}: {'; '.join(parts)}." for of, parts in said.items())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _expected(name: str, beside: Beside, computed: bool) -> tuple[str, ...]:  # noqa: FBT001  # private
    """The column of what the sheet says, where it says anything of any of these figures."""
    if not computed:
        return ()
    return (beside[name].text if name in beside else "none",)


def _cells(runs: Sequence[Run], name: str) -> tuple[str, ...]:
    return tuple(_cell(run, name) for run in runs)


def _cell(run: Run, name: str) -> str:
    figure = run.figure(name)
    return "not measured" if figure is None else str(shown(figure))

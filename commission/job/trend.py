"""
One figure over the visits to a unit: the first result of each, its drift with confidence, and when it meets a limit.

The first result of a visit is the evidence, whatever was adjusted or repeated afterwards; it counts although a later
adjustment made it void.
"""

from collections.abc import Sequence
from datetime import datetime

import msgspec

from commission.analysis.line_fit import fit_line
from commission.analysis.trend import Chart, Crossing, crossing, individuals, slope_of
from commission.figure import Figure
from commission.job.motions import Run
from commission.job.state import Job

LEAST_VISITS = 3
"""Two points are always on a line."""

_SECONDS_A_YEAR = 365.25 * 86_400


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """
    Which figure is followed.

    Args:
        figure: Its name, as `response_time`.

        procedure: Of the run, as `full_stroke`.

        direction: Of a stroke: `open` or `closed`; empty where there is none.

        limit: In the figure's unit, None where there is none.
    """

    figure: str
    procedure: str
    direction: str = ""
    limit: float | None = None


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """
    A figure over visits.

    Args:
        at_years: Of each visit, from the first.

        figures: The first result of each.

        slope: Change a year with its 95 % confidence; None with too few visits.

        chart: Individuals with their natural limits; None with fewer than two visits.

        meets: When the line meets the limit; None without a limit, or with too few visits.
    """

    at_years: tuple[float, ...]
    figures: tuple[Figure, ...]
    slope: Figure | None = None
    chart: Chart | None = None
    meets: Crossing | None = None


def trend_over(jobs: Sequence[Job], wanted: Wanted) -> Trend:
    """
    The trend of a figure over jobs of one unit, in any order.

    Raises:
        ValueError: the jobs are of different units; a practice job among real ones.
    """
    tags, practised = {(job.tag, job.sheet.identity.serial) for job in jobs}, {job.practice for job in jobs}
    if len(tags) > 1 or len(practised) > 1:
        raise ValueError("jobs of one unit, all of practice or none")
    found = [
        (datetime.fromisoformat(job.begun_utc), figure)
        for job in sorted(jobs, key=lambda job: job.begun_utc)
        if (figure := first_result(job, wanted)) is not None
    ]
    if not found:
        return Trend(at_years=(), figures=())
    at_years = tuple((when - found[0][0]).total_seconds() / _SECONDS_A_YEAR for when, _ in found)
    figures = tuple(figure for _, figure in found)
    values = [float(figure.decimal) for figure in figures]
    chart = individuals(values)[0] if len(values) > 1 else None
    if len(values) < LEAST_VISITS or len(set(at_years)) < LEAST_VISITS:
        return Trend(at_years=at_years, figures=figures, chart=chart)
    slope = slope_of(f"{wanted.figure}_a_year", at_years, values, f"{figures[0].unit}/a")
    between = at_years[-1] / (len(at_years) - 1)
    met = None if wanted.limit is None else crossing(fit_line(at_years, values), wanted.limit, at_years[-1], between)
    return Trend(at_years=at_years, figures=figures, slope=slope, chart=chart, meets=met)


def first_result(job: Job, wanted: Wanted) -> Figure | None:
    """The figure of the first run of a visit that has it; a time that is only "at least" is none."""
    for run in sorted(job.runs.values(), key=lambda run: run.n):
        figure = run.figure(wanted.figure) if _is_of(run, wanted) else None
        if figure is not None and not figure.lower_bound_only:
            return figure
    return None


def _is_of(run: Run, wanted: Wanted) -> bool:
    begun = run.begun
    return begun.procedure == wanted.procedure and begun.arguments.get("direction", "") == wanted.direction

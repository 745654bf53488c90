"""`commission history`: the visits to one unit, and how its figures went from one to the next."""

import argparse
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

import msgspec

from commission.analysis.span import LARGEST
from commission.analysis.timing import judged_name, limits_of
from commission.cli import output
from commission.cli.folder import folder_of
from commission.cli.output import Ending, Status
from commission.job.playback import open_archive
from commission.job.state import Job, JobError
from commission.job.trend import LEAST_VISITS, Trend, Wanted, first_result, trend_over
from commission.record.errors import RecordError
from commission.report.display import date_text, figure_name, shown
from commission.report.outcome import outcome
from commission.sheet import End


class Visited(msgspec.Struct, frozen=True):
    """One visit: its file and its job."""

    path: Path
    job: Job


class Followed(msgspec.Struct, frozen=True):
    """One figure over the visits, under the name that people call it by, with the days of those that have it."""

    name: str
    days: tuple[str, ...]
    trend: Trend


def run(chosen: argparse.Namespace) -> Status:
    """
    Print the visits to a unit and the trend of each figure that has any.

    Raises:
        Ending: no job of that tag is in the folder.
    """
    folder = folder_of(chosen)
    visits, unread = visits_to(chosen.tag, folder)
    if not visits and not unread:
        raise Ending(f"no job of {chosen.tag} is in {folder}; name another folder before: --folder DIR", Status.USAGE)
    for sentence in unread:
        output.say(sentence)
    if chosen.json:
        output.data_json({"tag": chosen.tag, "units": [_as_data(unit) for unit in of_one_unit(visits)]})
    else:
        output.data("\n".join(line for unit in of_one_unit(visits) for line in lines(unit)) + "\n")
    return Status.DEVIATIONS if unread else Status.DONE


def visits_to(tag: str, folder: Path) -> tuple[list[Visited], list[str]]:
    """The jobs of a tag in a folder, the first first; and what could not be read, in words."""
    found, unread = [], []
    for path in sorted(folder.glob("*.job")):
        try:
            job = open_archive(path).job
        except (RecordError, JobError, ValueError, LookupError) as error:
            if path.name.startswith(tag):
                unread.append(f"{path.name} is left out: {error}")
            continue
        if job.tag == tag:
            found.append(Visited(path, job))
    return sorted(found, key=lambda one: one.job.begun_utc), unread


def of_one_unit(visits: list[Visited]) -> Iterator[list[Visited]]:
    """Visits that may be compared: of one serial number, all of practice or none."""

    def key(one: Visited) -> tuple[bool, str]:
        return one.job.practice, one.job.sheet.identity.serial

    for _, group in groupby(sorted(visits, key=key), key=key):
        yield list(group)


def followed(visits: list[Visited]) -> list[Followed]:
    """Every figure that is followed and that some visit has."""
    jobs = [one.job for one in visits]
    return [
        Followed(name, days, trend_over(jobs, wanted))
        for name, wanted in _wanted(jobs[-1])
        if (days := tuple(date_text(job.begun_utc) for job in jobs if first_result(job, wanted) is not None))
    ]


def lines(visits: list[Visited]) -> Iterator[str]:
    """The visits to one unit and its trends, in lines of at most 80 columns."""
    job = visits[-1].job
    practice = ", PRACTICE" if job.practice else ""
    yield f"{job.tag}, serial {job.sheet.identity.serial}{practice}: {len(visits)} visit(s)"
    for one in visits:
        words = outcome(one.job, interim=False).words
        yield f"  {date_text(one.job.begun_utc)}  {one.job.checklist.name}: {words}  {one.path.name}"
    for known in followed(visits):
        yield ""
        yield known.name
        for day, figure in zip(known.days, known.trend.figures, strict=True):
            yield f"  {day}  {shown(figure)}"
        yield f"  {_drift(known.trend)}"


def _drift(trend: Trend) -> str:
    if trend.slope is None:
        return f"drift: not before {LEAST_VISITS} visits have it"
    words = f"drift {trend.slope.value} ± {trend.slope.expanded_uncertainty} {trend.slope.unit}"
    out = "" if trend.chart is None or not trend.chart.outside else "; one visit stands out"
    met = "" if trend.meets is None else f"; {trend.meets.words}"
    return f"{words}{out}{met}"


def _wanted(job: Job) -> Iterator[tuple[str, Wanted]]:
    """What is followed of a unit: its strokes to their limits, its partial stroke, its feedback."""
    for end in End:
        try:
            limits, name = limits_of(job.sheet, end), judged_name(job.sheet, end)
        except ValueError:
            continue
        wanted = Wanted(figure=name, procedure="full_stroke", direction=end.value, limit=limits.longest_s)
        yield f"stroke to {end.value}, {figure_name(name)}", wanted
    for name in ("time_to_target", "return_time", "friction_pressure"):
        yield f"partial stroke, {figure_name(name)}", Wanted(figure=name, procedure="partial_stroke")
    yield f"feedback, {figure_name(LARGEST)}", Wanted(figure=LARGEST, procedure="span")


def _as_data(visits: list[Visited]) -> dict[str, Any]:
    job = visits[-1].job
    return {
        "serial": job.sheet.identity.serial,
        "practice": job.practice,
        "visits": [
            {
                "file": one.path.name,
                "begun_utc": one.job.begun_utc,
                "checklist": one.job.checklist.name,
                "outcome": outcome(one.job, interim=False).words,
            }
            for one in visits
        ],
        "trends": [{"name": one.name, "days": one.days, **msgspec.to_builtins(one.trend)} for one in followed(visits)],
    }

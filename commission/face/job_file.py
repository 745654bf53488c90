"""A job file as the report and the exports need it: the folded job, and the curves of its strokes."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import msgspec

from commission.analysis.curve import stroke_curves
from commission.analysis.observed import StrokeObserved
from commission.analysis.partial import PartialObserved
from commission.job.playback import Archive, observed_of, read_archive
from commission.procedures.replay import CannotReplay
from commission.record.errors import RecordError
from commission.record.reader import Reader
from commission.report.trace import Trace


class JobRead(msgspec.Struct, frozen=True):
    """A job with the curves of its finished strokes, by run."""

    archive: Archive
    traces: Mapping[str, Trace]


def new_job_path(folder: Path, tag: str, utc: datetime) -> Path:
    """
    Where a new job is kept: its tag and the day as the people on site call it, by the laptop's own time zone.

    Args:
        folder: Of the jobs.

        tag: Of the unit.

        utc: When the job begins.
    """
    return free_path(folder / f"{tag}-{utc.astimezone():%Y-%m-%d}.job")


def free_path(path: Path) -> Path:
    """The path of a new job file, with a number where the day has such a job already."""
    number, candidate = 1, path
    while candidate.exists():
        number += 1
        candidate = path.with_stem(f"{path.stem}-{number}")
    return candidate


def read_job(path: Path) -> JobRead:
    """
    Read a job file.

    Raises:
        RecordError, JobError: it is damaged, or no job.
    """
    with Reader(path) as reader:
        archive = read_archive(reader)
        traces = {
            name: trace
            for name, run in archive.job.runs.items()
            if run.figures and (trace := _trace(archive, name, reader)) is not None
        }
    return JobRead(archive, traces)


def _trace(archive: Archive, name: str, reader: Reader) -> Trace | None:
    run = archive.job.runs[name]
    try:
        observed = observed_of(archive.job, run, archive.events, reader)
    except (CannotReplay, RecordError, LookupError, ValueError):
        return None  # verify says why; a report without this curve is better than none
    if not isinstance(observed, StrokeObserved | PartialObserved):
        return None
    curves = {curve.role: curve for curve in stroke_curves(observed)}
    travel = curves.get("travel")
    if travel is None:
        return None

    def beside_travel(role: str) -> tuple[float, ...]:
        curve = curves.get(role)
        return curve.values if curve is not None and len(curve.values) == len(travel.values) else ()

    return Trace(
        run=name,
        time_s=travel.times_s,
        travel=travel.values,
        pressure_pa=beside_travel("cylinder_pressure"),
        current_a=beside_travel("motor_current"),
        gaps_s=travel.gaps_s,
    )

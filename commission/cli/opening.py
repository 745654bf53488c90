"""Opens the visit that a command names: a new job from a sheet, or a job file to go on with."""

import argparse
from pathlib import Path

from commission.checklist import load_checklist
from commission.cli import output
from commission.cli.output import Ending, Status
from commission.clock import Clock
from commission.content import checklists_folder
from commission.face.job_file import new_job_path
from commission.job.playback import open_archive
from commission.record.chain import check_chain
from commission.sheet import load_sheet
from commission.supervise.surroundings import People
from commission.visit import Visit
from commission.visit.again import begin_again

_SQLITE = b"SQLite format 3\0"


def is_job(path: Path) -> bool:
    """
    Whether a file is a job rather than a sheet.

    Raises:
        Ending: it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except OSError as error:
        raise Ending(f"{path}: {error.strerror}; expected a sheet (TOML) or a job file", Status.USAGE) from error


def open_visit(
    path: Path, out: Path | None, checklist: Path, clock: Clock, people: People, by: str, *, again: bool = False
) -> Visit:
    """
    The visit on a job file, or a new one on a sheet; or, `again`, a new one beside a job file that takes over from it.

    Raises:
        ContentError, RecordError, JobError, VisitError: as their names say.

        Ending: the job was altered.
    """
    if is_job(path):
        chain = check_chain(path)
        if not chain.intact:
            raise Ending(f"{path.name} was altered: {chain.findings[0].words}", Status.DAMAGED)
        if not again:
            return Visit.resume(path, clock, people)
        tag = open_archive(path).job.tag
        job = _new_file(out or path.parent, tag, clock)
        visit = begin_again(path, job, load_checklist(checklist)[1], clock, people, by)
    else:
        sheet, text = load_sheet(path)
        job = _new_file(out or Path(), sheet.identity.tag, clock)
        visit = Visit.begin(job, text, load_checklist(checklist)[1], clock, people, by)
    output.say(f"Job file: {job}")
    return visit


def _new_file(folder: Path, tag: str, clock: Clock) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return new_job_path(folder, tag, clock.utc())


def checklist_of(chosen: argparse.Namespace, name: str) -> Path:
    """The checklist asked for, or the packed one of this name."""
    asked: Path | None = getattr(chosen, "checklist", None)
    return asked or checklists_folder() / name

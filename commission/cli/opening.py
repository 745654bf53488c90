"""Opens the visit that a command names: a new job from a sheet, or a job file to go on with."""

import argparse
from pathlib import Path

from commission.checklist import load_checklist
from commission.cli import output
from commission.cli.output import Ending, Status
from commission.clock import Clock
from commission.content import checklists_folder
from commission.face.job_file import free_path
from commission.record.chain import check_chain
from commission.sheet import load_sheet
from commission.supervise.surroundings import People
from commission.visit import Visit

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


def open_visit(path: Path, out: Path | None, checklist: Path, clock: Clock, people: People, by: str) -> Visit:
    """
    The visit on a job file, or a new one on a sheet.

    Raises:
        ContentError, RecordError, JobError, VisitError: as their names say.

        Ending: the job was altered.
    """
    if is_job(path):
        chain = check_chain(path)
        if not chain.intact:
            raise Ending(f"{path.name} was altered: {chain.findings[0].words}", Status.DAMAGED)
        return Visit.resume(path, clock, people)
    sheet, text = load_sheet(path)
    _, texts = load_checklist(checklist)
    folder = out or Path()
    folder.mkdir(parents=True, exist_ok=True)
    day = clock.utc().astimezone()
    job = free_path(folder / f"{sheet.identity.tag}-{day:%Y-%m-%d}.job")
    visit = Visit.begin(job, text, texts, clock, people, by)
    output.say(f"Job file: {job}")
    return visit


def checklist_of(chosen: argparse.Namespace, name: str) -> Path:
    """The checklist asked for, or the packed one of this name."""
    asked: Path | None = getattr(chosen, "checklist", None)
    return asked or checklists_folder() / name

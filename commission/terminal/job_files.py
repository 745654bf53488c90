"""
What a desk does with job files: look at one, begin one.

Apart from the desk because it needs all that a visit is made of, which the first paint does not wait for.
"""

from pathlib import Path

import msgspec

from commission.checklist import load_checklist
from commission.clock import Clock
from commission.content import checklists_folder
from commission.face.job_file import new_job_path
from commission.face.left_words import left_words
from commission.job.playback import open_archive
from commission.job.state import JobError
from commission.record.errors import RecordError
from commission.sheet import load_sheet
from commission.supervise.surroundings import People
from commission.terminal.desk import JobFound
from commission.visit import Visit, VisitError
from commission.visit.again import begin_again

COMMISSIONING = "commissioning.toml"

TROUBLE = (RecordError, JobError, VisitError, ValueError, LookupError, msgspec.MsgspecError)
"""What can be wrong with a file that somebody wants to go on with; each is a sentence for a person."""


def begin(folder: Path, sheet: Path, checklist: Path | None, clock: Clock, people: People, by: str) -> Visit:
    """
    A new job in a folder, on a sheet and a checklist; on the packed one where none is given.

    Raises:
        ContentError, RecordError: as their names say.
    """
    loaded, text = load_sheet(sheet)
    _, texts = load_checklist(checklist or checklists_folder() / COMMISSIONING)
    folder.mkdir(parents=True, exist_ok=True)
    path = new_job_path(folder, loaded.identity.tag, clock.utc())
    return Visit.begin(path, text, texts, clock, people, by)


def again(earlier: Path, checklist: str, clock: Clock, people: People, by: str) -> Visit:
    """
    A new job beside an earlier one, that takes over its sheet, its baseline and what it proved.

    Raises:
        ContentError, RecordError, JobError, VisitError: as their names say.
    """
    tag = open_archive(earlier).job.tag
    _, texts = load_checklist(checklists_folder() / checklist)
    return begin_again(earlier, new_job_path(earlier.parent, tag, clock.utc()), texts, clock, people, by)


def look(path: Path) -> JobFound:
    """What a job file holds; one that cannot be read says why."""
    try:
        job = open_archive(path).job
    except TROUBLE as error:
        return JobFound(path, trouble=str(error))
    return JobFound(
        path,
        job.tag,
        job.sheet.identity.service,
        job.last_utc,
        practice=job.practice,
        signed=bool(job.register.signatures),
        left=left_words(job),
    )

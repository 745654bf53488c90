"""
A re-test: a new job beside the old one, that takes over from it what later visits are to know.

One visit is one file. Sheet, baselines, proved commands and the proof of the way back are taken over as one event with
the earlier job's identity and the digest of its last event, so that report and verify need only the new file.
"""

from pathlib import Path

from commission.clock import Clock
from commission.content import Text
from commission.job.bodies import EarlierJobTaken
from commission.job.history import Kept
from commission.job.playback import Archive, open_archive
from commission.job.state import Job
from commission.supervise.surroundings import People
from commission.visit.open_job import VisitError
from commission.visit.visit import Visit
from commission.walk.partial import return_proved
from commission.walk.readiness import proved_commands


def begin_again(earlier: Path, path: Path, checklist: tuple[Text, ...], clock: Clock, people: People, by: str) -> Visit:
    """
    A new job on the unit of an earlier one.

    Args:
        earlier: The earlier job's file; it is only read.

        path: The new job's file.

        checklist: Texts of the checklist of the re-test.

        clock: The session's clocks.

        people: Who answers a procedure's questions.

        by: Who begins it.

    Raises:
        RecordError, JobError: the earlier job cannot be read.

        ContentError, RecordError: the new one cannot be made.

        VisitError: the earlier job cannot be begun from.
    """
    archive = open_archive(earlier)
    taken = taken_from(archive, earlier.name)
    visit = Visit.begin(path, archive.job.opened.sheet, checklist, clock, people, by)
    visit.record(taken, by)
    return visit


def taken_from(archive: Archive, file: str) -> EarlierJobTaken:
    """
    What a re-test takes over from a job.

    Args:
        archive: The earlier job as read.

        file: Its name.

    Raises:
        VisitError: this program cannot read all of it.
    """
    job = archive.job
    if job.read_only:
        raise VisitError(f"{file} cannot be begun from: {job.read_only}")
    return EarlierJobTaken(
        file=file,
        tag=job.tag,
        serial=job.sheet.identity.serial,
        begun_utc=job.begun_utc,
        last_utc=job.last_utc,
        events=len(archive.events),
        head=archive.head,
        sheet_digest=job.opened.sheet.digest,
        practice=job.practice,
        proved=tuple(sorted(proved_commands(job))),
        returned=return_proved(job),
        baselines=tuple(kept.set for kept in job.history.baselines if _stands(job, kept)),
    )


def _stands(job: Job, kept: Kept) -> bool:
    """A baseline is left behind where something was touched after its runs: it is not of the unit as it was left."""
    if kept.earlier:
        return not job.contact.adjustments
    return not any(job.runs[run.run].voided_by for run in kept.set.baseline.runs if run.run in job.runs)

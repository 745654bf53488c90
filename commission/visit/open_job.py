"""
The open job: its file and where the visit stands by it.

`Visit` owns one. Everything that happens goes through `record`, which tries the event on the job before it is written,
so that an illegal act changes nothing; whoever listens is told after it was folded.
"""

import secrets
from collections.abc import Callable, Iterable
from pathlib import Path

import msgspec

import commission
from commission import energy
from commission.checklist import parse_checklist
from commission.clock import Clock
from commission.content import Text
from commission.job.bodies import Body, JobOpened, SessionEnded, SessionStarted, kind_of
from commission.job.state import Job, JobError, fold, needed, opened
from commission.record.event import Event
from commission.record.reader import Reader
from commission.record.writer import Pending, Recorder
from commission.sheet import parse_sheet


class VisitError(Exception):
    """Something that cannot be done now, in words for the person who asked."""


class OpenJob:
    """
    A job file that is being written, and the fold of its events.

    Args:
        recorder: Writes the job file.

        job: Where the visit stands.

        clock: The session's clocks.
    """

    def __init__(self, recorder: Recorder, job: Job, clock: Clock) -> None:
        self.job = job
        self.clock = clock
        self.recorder = recorder
        self._listeners: list[Callable[[Event], None]] = []
        self._energy_listeners: list[Callable[[], None]] = []

    @classmethod
    def begin(cls, path: Path, sheet: Text, checklist: tuple[Text, ...], clock: Clock, by: str) -> "OpenJob":
        """
        Create a job file and open it.

        Raises:
            ContentError: sheet or checklist cannot be used.

            RecordError: the file cannot be made.
        """
        tag = parse_sheet(sheet).identity.tag
        parse_checklist(checklist)  # before there is a file that nobody could open
        recorder = Recorder(path, session=_session(), clock=clock, new=True)
        body = JobOpened(tag=tag, sheet=sheet, checklist=checklist, program_version=commission.__version__)
        first = _append(recorder, body, by)
        book = cls(recorder, opened(first.event), clock)
        book.record(SessionStarted(program_version=commission.__version__, resumed=False))
        return book

    @classmethod
    def resume(cls, path: Path, clock: Clock) -> "OpenJob":
        """
        Open a job file again; the energy state is unknown until it is proved anew.

        Raises:
            RecordError: it cannot be read or written, or another writer holds it.

            JobError: it is not a job.

            VisitError: it holds what this program does not know and must.
        """
        recorder = Recorder(path, session=_session(), clock=clock)  # first, so that nobody adds to what is read
        try:
            job = _writable_job(path)
        except BaseException:
            recorder.close()
            raise
        book = cls(recorder, job, clock)
        book.record(SessionStarted(program_version=commission.__version__, resumed=True))
        return book

    @property
    def path(self) -> Path:
        """The job file."""
        return self.recorder.path

    def on_event(self, listener: Callable[[Event], None]) -> None:
        """Tell somebody of each event after it was folded."""
        self._listeners.append(listener)

    def on_energy(self, listener: Callable[[], None]) -> None:
        """Tell somebody of each change of the energy state, after it was folded and before it is told as an event."""
        self._energy_listeners.append(listener)

    def record(self, body: Body, by: str = "program") -> Pending:
        """
        Try an event on the job, append it, and fold it.

        Raises:
            EnergyError, ValueError, LookupError: it is not legal now; nothing was written.
        """
        generation = self.job.energy_log.now.generation
        self.job.after(self._trial(body, by))
        pending = _append(self.recorder, body, by)
        self.job = self.job.after(pending.event)
        if self.job.energy_log.now.generation != generation:
            for told in self._energy_listeners:
                told()
        for listener in self._listeners:
            listener(pending.event)
        return pending

    def record_all(self, bodies: Iterable[Body], by: str) -> None:
        """
        Record several events in order.

        Raises:
            EnergyError, ValueError, LookupError, VisitError: the first that is not legal; those before it stand.
        """
        for body in bodies:
            self.record(body, by)

    def store_chunk(self, data: bytes) -> str:
        """Keep a chunk of samples; its digest."""
        return self.recorder.append_chunk(data)

    def checkpoint(self) -> None:
        """Make the job file whole in itself, as at each step's end."""
        self.recorder.checkpoint()

    def close(self, reason: str) -> None:
        """End the session and close the file."""
        self.record(SessionEnded(reason=reason))
        self.recorder.close()

    def _trial(self, body: Body, by: str) -> Event:
        return Event(
            n=self.job.last_n + 1,
            session=self.recorder.session,
            at_utc=self.clock.utc().isoformat(),
            at_mono_ns=self.clock.unit_ns(),
            by=by,
            kind=kind_of(type(body)),
            v=1,
            need=needed(body),
            body=msgspec.to_builtins(body),
        )


def _writable_job(path: Path) -> Job:
    try:
        with Reader(path) as reader:
            job = fold(reader.events())
    except (energy.EnergyError, ValueError, LookupError) as error:
        raise JobError(f"{path.name} holds what cannot have happened: {error}") from error
    if job.read_only:
        raise VisitError(f"{path.name} can only be read: {job.read_only}")
    return job


def _append(recorder: Recorder, body: Body, by: str) -> Pending:
    return recorder.append(kind_of(type(body)), msgspec.to_builtins(body), by=by, need=needed(body))


def _session() -> str:
    return secrets.token_hex(4)

"""
The job: all folds together, in one value that the walk, the screens and the report read.

`fold` takes the events of a record from the first; `Job.after` takes one more. An event that is not legal (an energy
fact out of order, an answer to a step that is not open) raises and leaves the job as it was, so a caller tries it here
before it is written.
"""

from collections.abc import Iterable, Mapping

import msgspec

from commission.checklist import Checklist, parse_checklist
from commission.energy import EnergyError
from commission.job.bodies import (
    NEED,
    Adjusted,
    Body,
    EnergyBegun,
    EnergyEntered,
    EnergyProved,
    JobOpened,
    SeriesCompared,
    kind_of,
)
from commission.job.contact import Contact, fold_contact
from commission.job.energy import EnergyLog, fold_energy
from commission.job.fold import Happened, happened
from commission.job.history import History, fold_history
from commission.job.lists import Deviation, Temporary, fold_deviations, fold_temporary
from commission.job.motions import Run, fold_runs, open_run
from commission.job.register import Register, fold_register
from commission.job.sequence import Happening, fold_sequence
from commission.job.steps import StepState, fold_steps, voided
from commission.job.survey import Surveyed, fold_survey
from commission.record.event import Event
from commission.sheet import Sheet, parse_sheet


class JobError(Exception):
    """A record that is not a job of this program."""


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """
    Where the visit stands.

    Args:
        opened: How it began, with the texts of sheet and checklist.

        sheet: What the unit is.

        checklist: What is to be done.

        begun_utc: When the job was opened.

        last_n: Number of the last event folded.

        last_utc: Its time.

        compared: What the strokes of steps came to together, in the order of the record.

        sequence: Every bit that changed and every command, as recorded; `job.sequence.numbered` puts them in order.

        surveyed: How settings, counters and selector stood when live was entered or left last.

        read_only: Why this program must not write to the job; empty where it may.

        unknown_kinds: Kinds of event that this program does not know, with how many there are.
    """

    opened: JobOpened
    sheet: Sheet
    checklist: Checklist
    begun_utc: str
    last_n: int
    last_utc: str
    energy_log: EnergyLog = EnergyLog()
    steps: Mapping[str, StepState] = {}
    runs: Mapping[str, Run] = {}
    compared: tuple[SeriesCompared, ...] = ()
    register: Register = Register()
    temporary: Mapping[str, Temporary] = {}
    deviations: Mapping[str, Deviation] = {}
    contact: Contact = Contact()
    history: History = History()
    sequence: tuple[Happening, ...] = ()
    surveyed: Surveyed | None = None
    read_only: str = ""
    unknown_kinds: Mapping[str, int] = {}

    @property
    def tag(self) -> str:
        """Tag of the unit."""
        return self.opened.tag

    @property
    def practice(self) -> bool:
        """Whether this is practice for good; what begins from a practice job is practice too."""
        earlier = self.history.earlier
        return self.contact.practice or (earlier is not None and earlier.practice)

    def after(self, event: Event) -> "Job":
        """
        The job after one more event.

        Raises:
            EnergyError, ValueError, KeyError: the event is not legal now. msgspec.ValidationError, for facts that are
                not of their kind's shape, is a ValueError.
        """
        if event.n <= self.last_n:
            raise ValueError(f"event {event.n} comes after event {self.last_n}: the order of a record never goes back")
        seen = happened(event)
        if seen.body is None:
            return self._with_unknown(event)
        return self._folded(seen)

    def _folded(self, seen: Happened) -> "Job":
        self._check_legal(seen.body)
        steps = fold_steps(self.steps, seen)
        runs = fold_runs(self.runs, seen)
        if isinstance(seen.body, Adjusted):
            steps, runs = self._made_void(steps, runs, seen.body)
        return msgspec.structs.replace(
            self,
            last_n=seen.event.n,
            last_utc=seen.event.at_utc,
            energy_log=fold_energy(self.energy_log, seen, self.sheet),
            steps=steps,
            runs=runs,
            compared=(*self.compared, seen.body) if isinstance(seen.body, SeriesCompared) else self.compared,
            register=fold_register(self.register, seen),
            temporary=fold_temporary(self.temporary, seen),
            deviations=fold_deviations(self.deviations, seen),
            contact=fold_contact(self.contact, seen),
            history=fold_history(self.history, seen),
            sequence=fold_sequence(self.sequence, seen, self.sheet),
            surveyed=fold_survey(self.surveyed, seen),
        )

    def _check_legal(self, body: Body | None) -> None:
        """What no single fold can see."""
        match body:
            case JobOpened():
                raise ValueError(f"the job of {self.tag} is open already; a record holds one job")
            case EnergyBegun() | EnergyProved() | EnergyEntered():
                moving = open_run(self.runs)
                if moving is not None:
                    raise EnergyError(
                        f"run {moving.begun.run} is open: the energy state is not changed during a motion"
                    )

    def _made_void(
        self, steps: Mapping[str, StepState], runs: Mapping[str, Run], body: Adjusted
    ) -> tuple[Mapping[str, StepState], Mapping[str, Run]]:
        rule = self.checklist.voids.get(body.touched)
        if rule is None:
            raise ValueError(f"{body.touched!r} is not in the checklist's table of what an adjustment makes void")
        names = self.checklist.made_void(body.touched)
        why = f"{rule.touched}: {body.detail}"
        void_runs = {
            name: msgspec.structs.replace(run, voided_by=run.voided_by or why) if run.begun.step in names else run
            for name, run in runs.items()
        }
        return voided(steps, names, why), void_runs

    def _with_unknown(self, event: Event) -> "Job":
        counts = {**self.unknown_kinds, event.kind: self.unknown_kinds.get(event.kind, 0) + 1}
        why = f"it holds {event.kind!r}, which this program does not know and must" if event.need else self.read_only
        return msgspec.structs.replace(self, last_n=event.n, last_utc=event.at_utc, unknown_kinds=counts, read_only=why)


def fold(events: Iterable[Event]) -> Job:
    """
    The job that these events make.

    Raises:
        JobError: the first event does not open a job, or there is none.
    """
    iterator = iter(events)
    first = next(iterator, None)
    if first is None:
        raise JobError("the record is empty")
    job = opened(first)
    for event in iterator:
        job = job.after(event)
    return job


def opened(first: Event) -> Job:
    """
    The job that its first event makes.

    Raises:
        JobError: the event does not open a job.
    """
    body = happened(first).body
    if not isinstance(body, JobOpened):
        raise JobError(f"the record begins with {first.kind!r}, not with a job")
    return Job(
        opened=body,
        sheet=parse_sheet(body.sheet),
        checklist=parse_checklist(body.checklist),
        begun_utc=first.at_utc,
        last_n=first.n,
        last_utc=first.at_utc,
    )


def needed(body: Body) -> bool:
    """Whether a program that does not know this kind of event must not go on with the job."""
    return kind_of(type(body)) in NEED

"""
Every kind of event that a job may hold, with its facts.

A kind is the class's name in small letters with underscores (`StepConcluded` → `step_concluded`). A body once written
is never edited: a later version gets an upcast in `record.upcasts`. `NEED` lists the kinds that a program must know to
go on with a job: not knowing one could move a valve or hide a lock.
"""

import re
from collections.abc import Mapping
from typing import Any

import msgspec

from commission.analysis.baseline import Baseline, Compared
from commission.analysis.wiring import PointSeen
from commission.content import Text
from commission.figure import Figure
from commission.sample import ReadPlan


class Body(msgspec.Struct, frozen=True, kw_only=True):
    """Facts of one event."""


class JobOpened(Body, frozen=True, kw_only=True):
    """A job begins: the full text of what it is done by."""

    tag: str
    sheet: Text
    checklist: tuple[Text, ...]
    program_version: str


class SessionStarted(Body, frozen=True, kw_only=True):
    """The program was started on this job; the energy state is unknown from here."""

    program_version: str
    resumed: bool


class SessionEnded(Body, frozen=True, kw_only=True):
    """The program ended in an orderly way."""

    reason: str


class PersonAdded(Body, frozen=True, kw_only=True):
    """Somebody takes part."""

    name: str
    role: str
    reference: str = ""


class InstrumentAdded(Body, frozen=True, kw_only=True):
    """A measuring instrument is used; `due` is a date as text, judged against the day of the visit."""

    id: str
    what: str
    certificate: str
    due: str
    range: str
    uncertainty: str


class PermitRecorded(Body, frozen=True, kw_only=True):
    """A paper permit to work, with the gas test it rests on."""

    number: str
    until_utc: str
    gas_test: str
    tester: str


class Connected(Body, frozen=True, kw_only=True):
    """The line to the unit is up; `practice_speed` is None on a real unit."""

    url: str
    practice_speed: float | None
    round_trip_p50_s: float
    round_trip_p99_s: float
    make_safe_s: float
    echoes: bool
    identity: int | None
    other_master: str
    agreed_by: str


class ContactLost(Body, frozen=True, kw_only=True):
    """The unit does not answer any more."""

    reason: str


class ContactBack(Body, frozen=True, kw_only=True):
    """The unit answers again; what was in hand must be looked at."""


class Disconnected(Body, frozen=True, kw_only=True):
    """The line was closed on purpose; what the unit does then was shown."""

    unit_will: str


class StepBegun(Body, frozen=True, kw_only=True):
    """Somebody went to a step; its cautions were shown."""

    step: str
    cautions: tuple[str, ...] = ()


class Answered(Body, frozen=True, kw_only=True):
    """An answer to a question of a step: as typed, and as understood."""

    step: str
    question: str
    text: str
    value: float | None = None
    unit: str = ""
    verdict: str = ""
    from_file: bool = False


class StepConcluded(Body, frozen=True, kw_only=True):
    """A step has its verdict."""

    step: str
    verdict: str
    reason: str = ""


class EnergyBegun(Body, frozen=True, kw_only=True):
    """Evidence is being collected for a crossing."""

    target: str


class EnergyProved(Body, frozen=True, kw_only=True):
    """One piece of evidence of the crossing."""

    fact: str
    subject: str
    details: Mapping[str, Any]


class EnergyEntered(Body, frozen=True, kw_only=True):
    """The unit is in the state crossed to."""

    state: str


class EnergyLost(Body, frozen=True, kw_only=True):
    """The state is unknown from here, and why."""

    reason: str


class TemporaryAdded(Body, frozen=True, kw_only=True):
    """Something temporary is on: it blocks signing until it is off again."""

    id: str
    kind: str
    what: str
    where: str
    why: str


class TemporaryRemoved(Body, frozen=True, kw_only=True):
    """Something temporary is off again, seen by a second person, and proved."""

    id: str
    second_person: str
    proved_by: str


class DeviationRaised(Body, frozen=True, kw_only=True):
    """Something is not as it should be. Classes: A before start-up, B within a date, C note."""

    id: str
    step: str
    required: str
    found: str
    risk: str = ""
    classed: str = "B"
    owner: str = ""
    due: str = ""


class DeviationAccepted(Body, frozen=True, kw_only=True):
    """The owner's side accepts a deviation; it stays in the record."""

    id: str
    reason: str


class Adjusted(Body, frozen=True, kw_only=True):
    """Something was touched; what depends on it becomes void."""

    touched: str
    detail: str


class ClockCompared(Body, frozen=True, kw_only=True):
    """Laptop minus the control room's event log, by voice; ± 1 s."""

    when: str
    offset_s: float
    against: str


class LeaveGiven(Body, frozen=True, kw_only=True):
    """Leave to write for one test (never called a permit)."""

    test: str
    values: Mapping[str, tuple[int, ...]]
    until_ns: int


class LeaveWithdrawn(Body, frozen=True, kw_only=True):
    """Leave is gone, and why."""

    test: str
    reason: str


class MovementConfirmed(Body, frozen=True, kw_only=True):
    """Somebody confirmed a movement: the count typed, and the characters of the tag plate."""

    test: str
    count: int
    tag_characters: str
    said_go: str


class MotionBegun(Body, frozen=True, kw_only=True):
    """
    Committed before the first command: after a crash it says what may have been sent.

    `arguments` are the procedure's own, so that it can be replayed.
    """

    run: str
    step: str
    procedure: str
    arguments: Mapping[str, str]
    test: str
    commands: Mapping[str, int]
    safe_end: str
    guards: tuple[str, ...]
    plan: ReadPlan
    as_found: bool = False


class CommandSent(Body, frozen=True, kw_only=True):
    """A write was put on the wire; `purpose` is procedure, safe end, or stop; `code` the exception of a refusal."""

    run: str
    role: str
    value: int
    at_ns: int
    half_width_ns: int
    outcome: str
    purpose: str
    reason: str = ""
    code: int = 0


class SamplesStored(Body, frozen=True, kw_only=True):
    """A chunk of samples, by its digest."""

    run: str
    chunk: str
    plan: str
    count: int


class BitsChanged(Body, frozen=True, kw_only=True):
    """Bits that changed between two samples: role → (from, to), between `after_ns` and `by_ns`."""

    run: str
    changes: Mapping[str, tuple[int, int]]
    after_ns: int
    by_ns: int


class GapSeen(Body, frozen=True, kw_only=True):
    """No sample came when one was due."""

    run: str
    since_ns: int
    at_ns: int
    reason: str


class ProcedureAnswered(Body, frozen=True, kw_only=True):
    """A reply to a procedure's question; samples up to `sample` passed while it was asked."""

    run: str
    sample: int
    question: str
    text: str
    value: float | None
    at_ns: int


class ProcedureDwelt(Body, frozen=True, kw_only=True):
    """A wait inside a procedure; shortened on a practice unit is said. Samples up to `sample` passed in it."""

    run: str
    sample: int
    seconds: float
    shortened: bool


class Noted(Body, frozen=True, kw_only=True):
    """A mark of the procedure."""

    run: str
    mark: str


class GuardTripped(Body, frozen=True, kw_only=True):
    """An abort condition fired."""

    run: str
    guard: str
    reason: str
    taken_over: bool


class MotionEnded(Body, frozen=True, kw_only=True):
    """
    A motion is over.

    `how` is finished, no test, aborted, stopped, or interrupted; `safe_end` is not needed, confirmed, unconfirmed,
    or withheld.
    """

    run: str
    how: str
    reason: str
    safe_end: str


class FiguresComputed(Body, frozen=True, kw_only=True):
    """Figures of one run, what timed it and who commanded it (rule R19)."""

    run: str
    figures: tuple[Figure, ...]
    timed_by: str
    commanded_by: str


class ResultDecided(Body, frozen=True, kw_only=True):
    """
    A verdict on one figure of one run, with the rule and limits it was decided by.

    Beside it, for information: what simple acceptance says, the probability in per cent that the true value is outside
    the limits, and the test uncertainty ratio; empty where they say nothing. `compared` holds each figure of the run
    beside its baseline, where there is one.
    """

    run: str
    step: str
    test: str
    figure: str
    verdict: str
    rule: str
    limit_low: str
    limit_high: str
    origin: str
    settles: str = ""
    simple: str = ""
    outside_pct: str = ""
    ratio: str = ""
    compared: tuple[Compared, ...] = ()


class BaselineSet(Body, frozen=True, kw_only=True):
    """
    A baseline is set, or renewed, by somebody's signed decision; the one before it stays in the record.

    `reason` is empty for the first.
    """

    baseline: Baseline
    signed_by: str
    reason: str = ""


class EarlierJobTaken(Body, frozen=True, kw_only=True):
    """
    A re-test begins from an earlier job: what that job is, and all that is taken over from it.

    `head` is the digest of its last event; `proved` the commands whose effect was seen; `returned` says which run
    proved the way back.
    """

    file: str
    tag: str
    serial: str
    begun_utc: str
    last_utc: str
    events: int
    head: str
    sheet_digest: str
    practice: bool
    proved: tuple[str, ...] = ()
    returned: str = ""
    baselines: tuple[BaselineSet, ...] = ()


class PointsProved(Body, frozen=True, kw_only=True):
    """What a wiring proof saw, point by point, and which points it did not force."""

    run: str
    points: tuple[PointSeen, ...]
    not_forced: tuple[str, ...] = ()


class SeriesCompared(Body, frozen=True, kw_only=True):
    """
    What the strokes of a step come to together: figures across runs, and the verdicts on those that have a limit.

    `runs` are those it is computed from; the results' own `run` is empty. Where it was computed from what people typed
    there are no runs, and `answers` are those values by question.
    """

    step: str
    runs: tuple[str, ...]
    figures: tuple[Figure, ...]
    results: tuple[ResultDecided, ...]
    answers: Mapping[str, str] = {}

    def figure(self, name: str) -> Figure | None:
        """The figure of this name, or None."""
        return next((figure for figure in self.figures if figure.name == name), None)


class UnitSurveyed(Body, frozen=True, kw_only=True):
    """
    Settings, counters and selector as they stood when live was entered or left: what a later look is compared with.

    `values` are by role, in the role's own unit; a bit is 0 or 1. `changed` says what was not as it had been.
    """

    when: str
    values: Mapping[str, float]
    changed: tuple[str, ...] = ()


class WaitShortened(Body, frozen=True, kw_only=True):
    """A wait on a practice unit was skipped by the unit and the program together."""

    step: str
    seconds: float


class StemLookedAt(Body, frozen=True, kw_only=True):
    """Somebody looked at the stem mark at both ends of a stroke (rule R20)."""

    direction: str
    start_mark: str
    end_mark: str


class Signed(Body, frozen=True, kw_only=True):
    """Somebody signs their own statement; how the signature was given is said."""

    role: str
    statement: str
    how: str


class ReportMade(Body, frozen=True, kw_only=True):
    """A report was written from the record as it stood."""

    name: str
    digest: str
    interim: bool


BODIES: tuple[type[Body], ...] = tuple(Body.__subclasses__())
"""Every kind of event."""


def kind_of(body: type[Body]) -> str:
    """Name of the kind in the record."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", body.__name__).lower()


KINDS: Mapping[str, type[Body]] = {kind_of(body): body for body in BODIES}

NEED: frozenset[str] = frozenset(
    kind_of(body)
    for body in (
        EnergyBegun,
        EnergyProved,
        EnergyEntered,
        EnergyLost,
        TemporaryAdded,
        MotionBegun,
        MotionEnded,
        CommandSent,
    )
)


def body_of(kind: str, facts: Mapping[str, Any]) -> Body | None:
    """
    The typed body of an event, or None where this program does not know the kind.

    Raises:
        msgspec.ValidationError: the kind is known and the facts are not of its shape.
    """
    known = KINDS.get(kind)
    return None if known is None else msgspec.convert(dict(facts), known)

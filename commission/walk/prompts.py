"""
The very next thing asked of a person in a step, from the folded job alone: so a visit resumes at the exact sub-step.

In each step: first it is begun and its cautions are shown; then its questions; then its crossing (begun, its evidence
one by one, entered) or its procedures (each run confirmed, then run); then the questions asked afterwards; then it is
concluded, and at once where a stroke did not come home. Two questions unfold into one prompt for each thing on a list:
what is still on the temporary list, and what deviations wait for the owner's side.
"""

from collections import Counter
from collections.abc import Mapping
from datetime import datetime

import msgspec

from commission.checklist import ProcedureUse, Question, Step
from commission.energy import EnergyState, Need, missing
from commission.figure import Verdict
from commission.job.lists import Deviation, Temporary
from commission.job.state import Job
from commission.job.steps import Attempt, StepState
from commission.walk.conditions import why_not
from commission.walk.confirm import Confirmation, is_confirmed, kind_of_confirmation
from commission.walk.evidence import how_to_give
from commission.walk.expected import Expected, expected
from commission.walk.movement import MotionTest, counted_runs, next_test, open_run
from commission.walk.way_back import not_seen_home


class BeginStep(msgspec.Struct, frozen=True):
    """The step is about to begin: its cautions are read first."""

    cautions: tuple[str, ...]


class Ask(msgspec.Struct, frozen=True):
    """A question of the step, with what is expected where that may be shown."""

    question: Question
    expected: Expected | None = None


class TakeOff(msgspec.Struct, frozen=True):
    """Something on the temporary list is to come off, with a second person and a proof."""

    item: Temporary


class Accept(msgspec.Struct, frozen=True):
    """A deviation of class A waits for the owner's side."""

    deviation: Deviation


class Cross(msgspec.Struct, frozen=True):
    """A crossing is to be begun, or, its evidence complete, the state is to be entered; its name is said."""

    target: EnergyState
    enter: bool


class Evidence(msgspec.Struct, frozen=True):
    """One piece of evidence of the crossing under way; `left` counts what is still missing, this included."""

    need: Need
    left: int


class ConfirmMovement(msgspec.Struct, frozen=True):
    """A movement is to be confirmed (rule R13); what is to be typed is never part of this."""

    test: MotionTest
    kind: Confirmation


class RunProcedure(msgspec.Struct, frozen=True):
    """A confirmed procedure is to be run now; `index` of `use.times` runs, counting from 1."""

    use: ProcedureUse
    index: int
    test: MotionTest


class AwaitMotion(msgspec.Struct, frozen=True):
    """A motion is open: nothing is asked until it has ended."""

    run: str


class Conclude(msgspec.Struct, frozen=True):
    """Nothing is pending: the step gets its verdict."""


Prompt = BeginStep | Ask | TakeOff | Accept | Cross | Evidence | ConfirmMovement | RunProcedure | AwaitMotion | Conclude


def pending(job: Job, step: Step, now: datetime) -> Prompt:
    """
    The next thing asked of a person in this step.

    Args:
        job: Where the visit stands.

        step: A step that `gate.refusal` lets go on.

        now: UTC; a confirmation is good for ten minutes.
    """
    attempt = job.steps.get(step.id, StepState()).last
    if attempt is None or not attempt.is_open:
        return BeginStep(step.cautions)
    return (
        _stopped(step, attempt)
        or _not_home(job, step, attempt)
        or _question(job, step, attempt, "before")
        or _crossing(job, step, attempt)
        or _procedure(job, step, attempt, now)
        or _question(job, step, attempt, "after")
        or Conclude()
    )


def how_to_answer(prompt: Prompt) -> str:
    """What to type, with an example; never what R13 wants typed without being shown."""
    match prompt:
        case Ask():
            return _how_to_ask(prompt)
        case Evidence():
            return how_to_give(prompt.need)
        case Cross():
            return f"type the name of the state, as a decision: {prompt.target}"
        case ConfirmMovement(kind=Confirmation.FULL):
            return "type the count of people, the characters that only this tag plate has, who says go; commas between"
    return _HOW_TO_ANSWER[type(prompt)]


_HOW_TO_ANSWER: Mapping[type, str] = {
    BeginStep: "read the caution aloud, then say: begin",
    TakeOff: "who saw it off, and what proves that it is back, as: A. Name, alarm returned at 15:41",
    Accept: "who of the owner's side accepts it, and why, as: A. Name, part on order",
    ConfirmMovement: "press G: three seconds are counted aloud, any key cancels",
    RunProcedure: "it runs by itself; the stop key works throughout",
    AwaitMotion: "wait; the stop key works",
    Conclude: "say: conclude",
}


def _how_to_ask(prompt: Ask) -> str:
    question = prompt.question
    if question.effect == "clock":
        return "the control room's clock as it is read out, as: 14:02:11"
    if question.effect == "stem mark":
        return "where the mark stood and where it stands now, as: open to closed"
    if question.effect == "temporary on":
        return "what; where; why, as: jumper; TB-3 4 to 5; to hold the ESD loop; or: none"
    words = {
        "text": "what you read, see or are told, as it stands",
        "person": "a name, as: T. Placeholder",
        "count": "a whole number, as: 3",
        "choice": f"one of: {', '.join(question.choices)}",
        "time": "HH:MM in UTC, or minutes from now, as: 16:00 or 240 min",
        "number": f"a number{_in_unit(question.unit)}, as: 12.5 or 12,5",
        "measured": "the program reads it; say: read",
    }
    return words[question.kind]


def _in_unit(unit: str) -> str:
    """The unit that a bare number is taken in; nothing where it has none."""
    return "" if unit in ("", "1") else f", in {unit} unless you give another"


def _question(job: Job, step: Step, attempt: Attempt, asked: str) -> Prompt | None:
    for question in step.questions:
        if question.asked != asked or not _is_asked(question, attempt) or why_not(question.when, job.sheet):
            continue
        listed = _listed(job, question)
        if listed is not None:
            return listed
        if question.id not in attempt.answers:
            return Ask(question, expected(job, step, question))
    return None


def _is_asked(question: Question, attempt: Attempt) -> bool:
    """A question about putting right is asked only where there is something to put right."""
    if not question.if_bad:
        return True
    earlier = attempt.answers.get(question.if_bad)
    return earlier is not None and earlier.answered.verdict == Verdict.FAIL


def _listed(job: Job, question: Question) -> Prompt | None:
    if question.effect == "temporary off":
        for item in job.temporary.values():
            if item.is_on and question.about in ("", item.added.kind):
                return TakeOff(item)
    if question.effect == "deviations accepted":
        for deviation in job.deviations.values():
            if deviation.raised.classed == "A" and deviation.accepted is None:
                return Accept(deviation)
    return None


def _stopped(step: Step, attempt: Attempt) -> Prompt | None:
    """A bad answer to a question that stops ends the step where it stands."""
    stopping = {question.id for question in step.questions if question.stops}
    bad = any(name in stopping and given.answered.verdict == Verdict.FAIL for name, given in attempt.answers.items())
    return Conclude() if bad else None


def _not_home(job: Job, step: Step, attempt: Attempt) -> Prompt | None:
    """A full stroke that did not come home ends the step: the next one would begin at the wrong end."""
    runs = (run for use in step.procedures for run in counted_runs(job, step, attempt, use))
    return Conclude() if any(not_seen_home(run) for run in runs) else None


def _crossing(job: Job, step: Step, _attempt: Attempt) -> Prompt | None:
    if step.crosses is None:
        return None
    energy = job.energy_log.now
    target = EnergyState(step.crosses)
    if energy.state is target:
        return None
    if energy.target is not target:
        return Cross(target, enter=False)
    needs = missing(energy, job.sheet)
    return Evidence(needs[0], len(needs)) if needs else Cross(target, enter=True)


def _procedure(job: Job, step: Step, attempt: Attempt, now: datetime) -> Prompt | None:
    """The first use of a procedure whose runs are not all made; the same use may stand several times in the list."""
    unfinished = open_run(job)
    if unfinished is not None:
        return AwaitMotion(unfinished.begun.run)
    wanted: Counter[str] = Counter()
    for use in step.procedures:
        key = f"{use.name} {sorted(use.arguments.items())}"
        made = len(counted_runs(job, step, attempt, use)) - wanted[key]
        wanted[key] += use.times
        if made < use.times:
            test = next_test(job, step, use)
            if not is_confirmed(job, test, now):
                return ConfirmMovement(test, kind_of_confirmation(job, test, now))
            return RunProcedure(use, made + 1, test)
    return None

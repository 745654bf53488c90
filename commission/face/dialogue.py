"""
The walk as a conversation: what to show, what to ask, what an answer makes true. The line-by-line face and the
unattended one both go through here; they differ only in who speaks.
"""

import asyncio
from typing import Protocol

import msgspec

from commission.checklist import Step
from commission.checklist.model import LINE_FIGURES
from commission.energy import EnergyError
from commission.face.goals import Goals
from commission.face.line_quality import line_quality
from commission.job.bodies import Answered, Body, PersonAdded
from commission.link.faults import LinkError
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.quantity import conversion
from commission.sheet import ROLES, End
from commission.supervise.order import MotionRefused
from commission.visit import Visit, VisitError
from commission.visit.survey import ENTERING, LEAVING, look, looks_when
from commission.walk import gate, route
from commission.walk.answers import answer
from commission.walk.leave_rules import LeaveRefused
from commission.walk.prompts import Ask, AwaitMotion, Prompt, RunProcedure, pending
from commission.walk.refusal import Refusal


class Left(Exception):  # an ending, not a fault
    """
    Somebody leaves the visit; it can be gone on with.

    Args:
        sentence: Why.

        unreached: Because the unit could not be reached, or does not answer.
    """

    def __init__(self, sentence: str, *, unreached: bool = False) -> None:
        super().__init__(sentence)
        self.unreached = unreached


class Reply(msgspec.Struct, frozen=True):
    """What was said at a prompt, and by whom; `from_file` where nobody said it."""

    text: str
    by: str
    from_file: bool = False


class Speaker(Protocol):
    """Who shows and answers: a person at a keyboard, or a file with people at a practice unit."""

    def step(self, visit: Visit, step: Step) -> None:
        """A step is entered: its title, cautions, what to do, what to say."""

    def refused(self, step: Step, refusal: Refusal) -> None:
        """The step may not go on, and why."""

    def problem(self, sentence: str) -> None:
        """Something was not taken; the same is asked again."""

    def concluded(self, visit: Visit, step: Step) -> None:
        """A step has its verdict."""

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """The answer to a prompt; None where something else was done instead and the walk is looked at again."""

    async def unblock(self, visit: Visit, step: Step) -> None:
        """Do something about a refusal; raises Left where nothing can be done."""

    async def line_needed(self, visit: Visit) -> None:
        """The step needs a line to the unit: open it; raises Left where that cannot be."""

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """A motion is open: show it, and let it be stopped, until the task is done."""

    async def ask(self, question: ProcedureAsk) -> Answer:
        """A procedure's own question."""


async def walk(visit: Visit, speaker: Speaker, direction: End | None = None, until: str = "") -> None:
    """
    Lead through every step of the checklist that is left, or through one stroke.

    Args:
        visit: The open visit.

        speaker: Who shows and answers.

        direction: Only the stroke to this end, with the crossings that lead to it and back into operation.

        until: Id of a step to end before; empty for none.

    Raises:
        Left: somebody leaves before the end.
    """
    entered = ""
    goals = None if direction is None else Goals(visit.job, direction)
    while (due := _due(visit, goals)) is not None and due[0].id != until:
        step, refusal = due
        if refusal is not None:
            speaker.refused(step, refusal)
            if _wants_line(visit, step):
                await speaker.line_needed(visit)
            else:
                await speaker.unblock(visit, step)
            continue
        attempt = f"{step.id} {_concluded(visit, step)}"
        if attempt != entered:  # also where the step was begun elsewhere: its cautions are said before its questions
            speaker.step(visit, step)
            entered = attempt
        await _prompt(visit, step, speaker)


def _due(visit: Visit, goals: Goals | None) -> tuple[Step, Refusal | None] | None:
    """The next step, and why it may not go on; where only time is in its way, one that moves nothing meanwhile."""
    job, now = visit.job, visit.clock.utc()
    step = route.current(job) if goals is None else goals.step(job)
    if step is None:
        return None
    refused = gate.refusal(job, step, now)
    waits = goals is None and refused is not None and refused.wait_s > 0 and route.open_step(job) is None
    other = gate.meanwhile(job, now) if waits else None
    return (step, refused) if other is None else (other, None)


async def _prompt(visit: Visit, step: Step, speaker: Speaker) -> None:
    prompt = pending(visit.job, step, visit.clock.utc())
    if isinstance(prompt, RunProcedure):
        await _run(visit, step, prompt, speaker)
        return
    if isinstance(prompt, AwaitMotion):
        raise VisitError(
            f"{prompt.run} has no result although nothing runs: the record is not as this program writes it"
        )
    reply = await speaker.reply(visit, step, prompt)
    if reply is None:
        return
    measured = None
    if isinstance(prompt, Ask) and prompt.question.kind == "measured":
        measured = await _measured(visit, prompt, speaker)  # now that it was asked for, not when the prompt was shown
    try:
        bodies = answer(visit.job, step, prompt, reply.text, reply.by, visit.clock.utc(), measured)
        filed = reply.from_file and measured is None  # what the unit said comes from no file
        looking = looks_when(visit, bodies)
        if looking == LEAVING:
            await look(visit, looking)  # as it was left, while it still answers
        _record(visit, bodies, reply.by, from_file=filed)
        if looking == ENTERING:
            await look(visit, looking)
    except (ValueError, LookupError, EnergyError, VisitError) as error:  # all that says: not legal now
        speaker.problem(str(error))
        return
    if not _is_begun(visit, step) and visit.job.steps[step.id].last is not None:
        speaker.concluded(visit, step)
        visit.checkpoint()


async def _run(visit: Visit, step: Step, prompt: RunProcedure, speaker: Speaker) -> None:
    if visit.supervisor is None:
        await speaker.line_needed(visit)
    by = _who_confirmed(visit, prompt)
    running = asyncio.get_running_loop().create_task(visit.perform(step, prompt.use, by))
    try:
        await speaker.moving(visit, running)
        await running
    except (MotionRefused, LeaveRefused, VisitError) as refused:
        speaker.problem(f"{prompt.test.name} was not begun: {refused}")


def _who_confirmed(visit: Visit, prompt: RunProcedure) -> str:
    """
    Who confirmed this very run.

    Raises:
        VisitError: nobody did.
    """
    for known in reversed(visit.job.register.confirmed):
        if known.confirmed.test == prompt.test.name:
            return known.by
    raise VisitError(f"nobody has confirmed {prompt.test.name}")


async def _measured(visit: Visit, prompt: Ask, speaker: Speaker) -> float | None:
    """What the unit says, in the question's unit; None where it says nothing."""
    question = prompt.question
    if visit.link is None:
        await speaker.line_needed(visit)
    try:
        if question.role in LINE_FIGURES:
            return await line_quality(visit, question.role)
        readings = await visit.read((question.role,))
    except (VisitError, LinkError) as error:
        speaker.problem(str(error))
        return None
    value = readings.value(question.role)
    if value is None:
        return None
    return conversion(ROLES[question.role].unit or "1", question.unit or "1").apply(value)


def _record(visit: Visit, bodies: tuple[Body, ...], by: str, *, from_file: bool) -> None:
    if by not in visit.job.register.people:
        visit.record(PersonAdded(name=by, role="on site"), by)
    for body in bodies:
        marked = msgspec.structs.replace(body, from_file=True) if from_file and isinstance(body, Answered) else body
        visit.record(marked, by)


def _concluded(visit: Visit, step: Step) -> int:
    """How many attempts at a step are over."""
    state = visit.job.steps.get(step.id)
    return 0 if state is None else sum(1 for attempt in state.attempts if not attempt.is_open)


def _is_begun(visit: Visit, step: Step) -> bool:
    state = visit.job.steps.get(step.id)
    return state is not None and state.last is not None and state.last.is_open


def _wants_line(visit: Visit, step: Step) -> bool:
    """Whether what is missing is only contact with the unit."""
    return gate.needs_line(visit.job, step) and (visit.link is None or not visit.job.contact.up)

"""
From what a person types to the events that it makes, or a clear refusal with what was expected and an example.

Nothing is recorded here: the caller tries each body on the job and appends it. One core serves the line-by-line command
and the screen.
"""

import re
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from commission.checklist import Question, Step
from commission.figure import Verdict
from commission.job.bodies import Answered, Body, EnergyBegun, EnergyEntered, EnergyProved, StepBegun, TemporaryAdded
from commission.job.state import Job
from commission.quantity import NumberError, UnitError, parse
from commission.walk import acts, confirm, effects
from commission.walk.acts import ActError
from commission.walk.conclusion import conclude
from commission.walk.evidence import EvidenceError, evidence, states_something
from commission.walk.gate import BLOCKED_DUMP
from commission.walk.judgement import judge
from commission.walk.prompts import (
    Accept,
    Ask,
    BeginStep,
    Conclude,
    ConfirmMovement,
    Cross,
    Evidence,
    Prompt,
    TakeOff,
    how_to_answer,
)
from commission.walk.state_line import DUMP_BLOCKED


class AnswerError(ValueError):
    """
    An answer that cannot be taken; nothing has changed.

    Args:
        place: The step and question it was for.

        problem: What is wrong with it.

        expected: What to type, with an example.
    """

    def __init__(self, place: str, problem: str, expected: str) -> None:
        super().__init__(f"{place}: {problem}. Expected: {expected}")
        self.place = place
        self.problem = problem
        self.expected = expected


def answer(
    job: Job,
    step: Step,
    prompt: Prompt,
    text: str,
    by: str,
    now: datetime,
    measured: float | None = None,
    others: tuple[str, ...] = (),
) -> tuple[Body, ...]:
    """
    The events that an answer makes, in order.

    Args:
        job: Where the visit stands.

        step: The step that asks.

        prompt: What `prompts.pending` asked.

        text: As typed.

        by: Whose word it is.

        now: UTC.

        measured: For a measured question: what the program read, in the question's unit; a bit as 1 or 0 by its role.

        others: Tags of the other units of this round, from which this one's plate must be told.

    Raises:
        AnswerError: it cannot be taken.
    """
    if not by.strip():
        raise AnswerError(step.id, "nobody's name stands beside this answer", "say who you are first")
    try:
        if isinstance(prompt, ConfirmMovement):
            return (confirm.confirm(job, prompt.test, text, by, now, others),)
        return _bodies(job, step, prompt, text, by, now, measured)
    except (EvidenceError, ActError, confirm.ConfirmError, NumberError, UnitError) as error:
        raise AnswerError(place_of(step, prompt), str(error), how_to_answer(prompt)) from error


def _bodies(
    job: Job, step: Step, prompt: Prompt, text: str, by: str, now: datetime, measured: float | None
) -> tuple[Body, ...]:
    match prompt:
        case BeginStep():
            _said(text, "begin")
            return (StepBegun(step=step.id, cautions=prompt.cautions),)
        case Ask():
            return _answered(job, step, prompt, text, by, now, measured)
        case TakeOff():
            who, _, proof = text.partition(",")
            return (acts.temporary_off(job, prompt.item.added.id, who, proof, by),)
        case Accept():
            who, _, reason = text.partition(",")
            return (acts.accept_deviation(job, prompt.deviation.raised.id, who, reason),)
        case Cross():
            _said(text, prompt.target)
            return (EnergyEntered(state=prompt.target) if prompt.enter else EnergyBegun(target=prompt.target),)
        case Evidence():
            return _proved(job, prompt, text, by, now)
        case Conclude():
            _said(text, "conclude")
            return conclude(job, step)
    raise ActError("nothing is asked now")


def _proved(job: Job, prompt: Evidence, text: str, by: str, now: datetime) -> tuple[Body, ...]:
    need = prompt.need
    details = evidence(job.energy_log.now, job.sheet, need, text, by, now)
    body = EnergyProved(fact=need.fact, subject=need.subject, details=details)
    if details.get("how") != DUMP_BLOCKED or BLOCKED_DUMP not in job.checklist.temporary:
        return (body,)
    blocked: TemporaryAdded = acts.temporary_on(job, BLOCKED_DUMP, "dump valve", " ".join(text.split()), "hand pump")
    return (body, blocked)


def _answered(
    job: Job, step: Step, prompt: Ask, text: str, by: str, now: datetime, measured: float | None
) -> tuple[Body, ...]:
    question = prompt.question
    words = " ".join(text.split())
    read = _READERS[question.kind](question, words, now, measured)
    if question.effect == "clock":
        read = (read[0], effects.clock_offset_s(read[0], now))
    judged = judge(step, question, read[0], read[1], prompt.expected)
    answered = Answered(
        step=step.id,
        question=question.id,
        text=read[0],
        value=read[1],
        unit=question.unit if read[1] is not None else "",
        verdict=judged.verdict or "",
    )
    given = effects.Given(job=job, step=step, question=question, answered=answered, by=by, now=now)
    made = effects.effects_of(given)
    if judged.verdict != Verdict.FAIL or _will_be_put_right(step, question):
        return (answered, *made)
    classed = "A" if question.stops else "B"
    deviation = acts.raise_deviation(job, step.id, judged.required, judged.found, classed=classed)
    return (answered, *made, deviation)


def _will_be_put_right(step: Step, question: Question) -> bool:
    """A later question asks what was done about it: then the last of them raises the deviation, if any."""
    return any(later.if_bad == question.id for later in step.questions)


Read = tuple[str, float | None]


def _text(question: Question, words: str, _now: datetime, _measured: float | None) -> Read:
    if not words:
        raise ActError(f"nothing was answered to {question.ask!r}")
    if not states_something(words):
        raise ActError(f"{words!r} can be said without looking")
    return words, None


def _number(question: Question, words: str, _now: datetime, _measured: float | None) -> Read:
    typed = parse(words, question.unit or "1")
    return typed.text, float(f"{typed.value:.12g}")


def _count(_question: Question, words: str, _now: datetime, _measured: float | None) -> Read:
    if not words.isdecimal():
        raise ActError(f"{words!r} is not a whole number")
    return words, float(int(words))


def _choice(question: Question, words: str, _now: datetime, _measured: float | None) -> Read:
    for number, choice in enumerate(question.choices, start=1):
        if words.lower() in (choice.lower(), str(number)):
            return choice, None
    raise ActError(f"{words!r} is none of: {', '.join(question.choices)}")


def _time(question: Question, words: str, now: datetime, _measured: float | None) -> Read:
    if question.effect == "clock":
        return words, None
    clock = re.fullmatch(r"(\d{1,2}):(\d{2})(?:\s*UTC)?", words, flags=re.IGNORECASE)
    if clock is None:
        minutes = parse(words, "min").value
        return (now + timedelta(minutes=minutes)).isoformat(), None
    hour, minute = int(clock[1]), int(clock[2])
    if hour > 23 or minute > 59:
        raise ActError(f"{words!r} is no time of day")
    then = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
    return (then if then > now else then + timedelta(days=1)).isoformat(), None


def _measured(question: Question, _words: str, _now: datetime, measured: float | None) -> Read:
    if measured is None:
        raise ActError(f"the unit gives no reading of {question.role} now, which is never zero")
    return f"{measured:.6g}", measured


_READERS: Mapping[str, Callable[[Question, str, datetime, float | None], Read]] = {
    "text": _text,
    "person": _text,
    "number": _number,
    "count": _count,
    "choice": _choice,
    "time": _time,
    "measured": _measured,
}


def _said(text: str, word: str) -> None:
    if text.strip().lower() != word.lower():
        raise ActError(f"say {word!r} to go on; {text.strip()!r} changes nothing")


def place_of(step: Step, prompt: Prompt) -> str:
    """What an answer is for: the step and the question, as an `AnswerError` begins."""
    match prompt:
        case Ask():
            return f"{step.id}, {prompt.question.ask.rstrip('?')}"
        case Evidence():
            return f"{step.id}, {prompt.need.words}"
    return step.id

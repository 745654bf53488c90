"""
The unattended speaker: answers from a file, and people at a practice unit who do what the answers say.

Readings are taken at the unit when they are asked for; only names, numbers of locks and words come from the file.
"""

import asyncio
import math
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import msgspec

from commission.checklist import Step
from commission.cli import output
from commission.cli.answers_file import Answers, FiledAnswer, SiteAct, with_readings
from commission.cli.requests import Typed, perform
from commission.cli.site import Site
from commission.face import wording
from commission.face.dialogue import Left, Reply
from commission.figure import Verdict
from commission.job.bodies import WaitShortened
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.quantity import parse
from commission.visit import Visit, waits
from commission.walk import gate
from commission.walk.confirm import GO_KEY, Confirmation
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
)
from commission.walk.refusal import Refusal

_LOOKS = (
    "gauges",
    "precharge",
    "stem",
    "mark",
    "level",
    "panel",
    "control_room",
    "meter",
    "recorder",
    "volts",
    "clamp",
    "alarm_volts",
    "line_gauge",
    "rotation",
    "heater_w",
    "thermometer",
)
_MOST_REFUSED = 3
_MOST_SAID = 30
"""The same answer to the same question so often, and nothing else in between, is not taken: the file leads nowhere."""

_LAPTOP_AHEAD = timedelta(seconds=7)
"""
Of the invented control room's clock. `{clock}` is what the controller reads out now; `{log}` is the time in their event
log of the last thing done at the unit.
"""

_REFUSED = "refused"
_WAIT_ACT = "let_time_pass"
_JOG = "jog"
"""Lets time pass too, between a button and STOP."""
_ALARM_LOG = "{alarm_log}"
"""When the alarm contact last changed, by the control room's event log."""

_ASKED = "{asked}"
"""An act with this value is done to the number that the procedure asks for, as a pressure."""


class Crew:
    """
    Answers by itself.

    Args:
        answers: What is said.

        site: The people at the practice unit; None where the file does nothing there.

        tell: Where lines for people go.
    """

    def __init__(self, answers: Answers, site: Site | None, tell: Callable[[str], None] = output.say) -> None:
        self._answers = answers
        self._tell = tell
        self._site = site
        self._refused = 0
        self._at: tuple[Visit, Step] | None = None
        self._acted: datetime | None = None
        self._answered = ""
        self._last_said = ("", "")
        self._said_again = 0

    def step(self, visit: Visit, step: Step) -> None:
        """Say where the walk is."""
        self._refused = 0
        self._at = (visit, step)
        self._tell("\n".join(wording.step_lines(visit.job, step, visit.clock.utc())[:3]))

    def refused(self, step: Step, refusal: Refusal) -> None:
        """Say why the step may not go on."""
        self._tell(f"{step.id}: {refusal}")

    def problem(self, sentence: str) -> None:
        """
        An answer of the file was not taken, or a test came to nothing.

        Raises:
            Left: again and again.
        """
        self._tell(sentence)
        self._refused += 1
        if self._refused >= _MOST_REFUSED:
            raise Left(f"{self._answers.name} does not lead on: {sentence}")

    def concluded(self, visit: Visit, step: Step) -> None:
        """Say the verdict."""
        last = visit.job.steps[step.id].last
        if last is not None:
            self._tell(f"  {step.id}: {last.verdict}{f'; {last.reason}' if last.reason else ''}")

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """The file's answer, after what it does at the unit was done."""
        filed = self._filed(step, prompt)
        said = await self._played(visit, step, filed)
        await self._request(visit, step, filed)
        by = filed.by or self._answers.filed.by
        return Reply(said, by, from_file=True)

    async def unblock(self, visit: Visit, step: Step) -> None:
        """
        Let time pass at a practice unit where time alone settles it; else do what the file says, as `refused`.

        Raises:
            Left: something else is in the way, and the file says nothing.
        """
        refused = gate.refusal(visit.job, step, visit.clock.utc())
        if refused is not None and refused.wait_s and self._site is not None:
            await self._do(visit, step, SiteAct(act=_WAIT_ACT, value=math.ceil(refused.wait_s)))
            return
        if self._answers.has(step.id, _REFUSED):
            filed = self._answers.take(step.id, _REFUSED)
            await self._played(visit, step, filed)
            await self._request(visit, step, filed)
            return
        raise Left(f"{step.id} may not go on in state {visit.job.energy_log.now.state}")

    async def line_needed(self, visit: Visit) -> None:
        """
        Wait for the unit to answer again.

        Raises:
            Left: it does not.
        """
        for _ in range(10):
            if await visit.answers_again():
                return
            await visit.clock.sleep_wire(0.2)
        raise Left(f"the unit does not answer: {visit.job.contact.reason}", unreached=True)

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """Say how the run came out."""
        await asyncio.wait({running})
        for line in self._last_run(visit):
            self._tell(f"  {line}")
        run = list(visit.job.runs.values())[-1] if visit.job.runs else None
        if run is not None and any(result.verdict in (Verdict.NO_TEST, Verdict.STOPPED) for result in run.results):
            self.problem(f"{run.begun.test} was {run.results[-1].verdict}")

    async def ask(self, question: ProcedureAsk) -> Answer:
        """
        A procedure's own question; where the file does something and says nothing, its hands are busy and it waits.

        Raises:
            Left: nobody is there to ask.

            ContentError: the file holds no answer (any more).
        """
        if self._at is None:
            raise Left(f"nobody is there to answer {question.text!r}")
        visit, step = self._at
        if question.kind == "key":
            await asyncio.Event().wait()  # nobody cancels
        if question.kind == "go":
            return Answer(question.id, "go", self._answers.filed.by, visit.clock.unit_ns())
        filed = self._answers.take(step.id, question.id)
        said = await self._played(visit, step, filed, question.target)
        if not said:
            await asyncio.Event().wait()
        self._said_again = self._said_again + 1 if self._last_said == (question.id, said) else 0
        self._last_said = (question.id, said)
        if self._said_again >= _MOST_SAID:
            raise Left(f"{self._answers.name} does not lead on: {said!r} answers {question.id!r} again and again")
        await visit.clock.sleep_unit(filed.unless_s)
        value = parse(said, question.unit or "1").value if question.kind == "number" else None
        by = filed.by or self._answers.filed.by
        return Answer(question.id, said, by, visit.clock.unit_ns(), value)

    async def _played(self, visit: Visit, step: Step, filed: FiledAnswer, asked: float | None = None) -> str:
        """Do what an answer does at the unit, to the number asked for where there is one; what it says then."""
        for act in filed.acts:
            wanted = asked if act.value == _ASKED else act.value
            await self._do(visit, step, msgspec.structs.replace(act, value=wanted))
        if "{" not in filed.say:
            return filed.say
        clock = f"{visit.clock.utc() - _LAPTOP_AHEAD:%H:%M:%S}"
        log = f"{(self._acted or visit.clock.utc()) - _LAPTOP_AHEAD:%H:%M:%S}"
        said = {"clock": clock, "log": log, "answered": self._answered, **await self._read(filed.say)}
        if _ALARM_LOG in filed.say and self._site is not None:
            age = timedelta(seconds=float(await self._site.read("alarm_age")))
            said["alarm_log"] = f"{visit.clock.utc() - age - _LAPTOP_AHEAD:%H:%M:%S}"
        return with_readings(filed.say, said)

    async def _request(self, visit: Visit, step: Step, filed: FiledAnswer) -> None:
        """Ask for what the answer asks for, as at the keyboard; `{deviation}` is the one raised last."""
        for wanted in filed.asks:
            line = wanted.replace("{deviation}", f"D{len(visit.job.deviations)}")
            name, _, words = line.removeprefix("/").partition(" ")
            by = filed.by or self._answers.filed.by
            self._tell(f"  {line}")
            try:
                await perform(name, Typed(visit=visit, step=step, words=words, by=by))
            except (ValueError, LookupError) as refused:
                raise Left(f"{self._answers.name}: {line}: {refused}") from refused

    def _filed(self, step: Step, prompt: Prompt) -> FiledAnswer:
        to, fallback = _address(prompt)
        if fallback and not self._answers.has(step.id, to):
            return FiledAnswer(step=step.id, to=to, say=fallback)
        return self._answers.take(step.id, to)

    async def _do(self, visit: Visit, step: Step, act: SiteAct) -> None:
        if self._site is None:
            raise Left(f"the answers act at the unit ({act.act}), and nobody is there: name the site desk with --site")
        if act.act == _WAIT_ACT and isinstance(act.value, int | float) and waits.may_pass(visit):
            await self._let_pass(self._site, visit, step, act.value)
            return
        if act.tried:
            self._answered = await self._site.attempt(act)
        else:
            await self._site.act(act)
        self._acted = visit.clock.utc()
        if act.act in (_WAIT_ACT, _JOG) and isinstance(act.value, int | float):
            visit.clock.skip(float(act.value))
            visit.record(WaitShortened(step=step.id, seconds=float(act.value)))

    async def _let_pass(self, site: Site, visit: Visit, step: Step, seconds: float) -> None:
        async def at_unit(part_s: float) -> None:
            await site.act(SiteAct(act=_WAIT_ACT, value=part_s))

        await waits.let_pass(visit, seconds, at_unit, step.id, "program")
        self._acted = visit.clock.utc()

    async def _read(self, said: str) -> dict[str, Any]:
        names = [name for name in _LOOKS if f"{{{name}" in said]
        if names and self._site is None:
            raise Left("the answers read at the unit, and nobody is there: name the site desk with --site")
        return {name: await self._site.read(name) for name in names} if self._site is not None else {}

    @staticmethod
    def _last_run(visit: Visit) -> list[str]:
        runs = list(visit.job.runs.values())
        return wording.run_lines(runs[-1]) if runs else []


def _address(prompt: Prompt) -> tuple[str, str]:
    """How a prompt is named in an answers file, and what is said where the file does not answer it."""
    match prompt:
        case BeginStep():
            return "begin", "begin"
        case Ask(question=question):
            return question.id, "read" if question.kind == "measured" else ""
        case Evidence(need=need):
            return f"{need.fact} {need.subject}".strip(), ""
        case Cross(target=target, enter=enter):
            return ("enter" if enter else "cross"), target
        case ConfirmMovement(kind=kind):
            return ("confirm", "") if kind is Confirmation.FULL else ("again", GO_KEY)
        case TakeOff(item=item):
            return f"off {item.added.kind}", ""
        case Accept():
            return "accept", ""
        case Conclude():
            return "conclude", "conclude"
    return "wait", "wait"

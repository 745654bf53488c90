"""
The speaker at a keyboard: plain lines, one question at a time.

What begins with `/` is not an answer but a request: `/help` lists them. While the valve moves, any line typed stops it.
"""

import asyncio

from commission.checklist import Step
from commission.cli import output, wording
from commission.cli.dialogue import Left, Reply
from commission.cli.requests import REQUESTS, Typed, perform
from commission.cli.typed_lines import TypedLines
from commission.job.bodies import PersonAdded
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.quantity import NumberError, UnitError, parse
from commission.supervise.stop_field import stop_field
from commission.visit import Visit
from commission.walk.confirm import COUNTDOWN_S, GO_KEY, Confirmation
from commission.walk.prompts import BeginStep, Conclude, ConfirmMovement, Cross, Prompt, how_to_answer
from commission.walk.refusal import Refusal

STOP_KEY = "ENTER or Ctrl-C"


class Typist:
    """
    Shows lines and takes typed ones.

    Args:
        lines: What is typed.

        url: Address of the unit.
    """

    def __init__(self, lines: TypedLines, url: str) -> None:
        self._lines = lines
        self._url = url
        self._by = ""

    async def introduce(self, visit: Visit) -> None:
        """
        Ask who is at the keyboard.

        Raises:
            Left: the terminal is gone.
        """
        while not self._by:
            output.say("Who is at the keyboard? Name, role (as: T. Placeholder, technician)")
            name, _, role = (await self._line()).partition(",")
            self._by = name.strip()
            if self._by:
                visit.record(PersonAdded(name=self._by, role=role.strip() or "technician"), self._by)

    def step(self, visit: Visit, step: Step) -> None:
        """Show a step."""
        output.say("\n".join(wording.step_lines(visit.job, step, visit.clock.utc())))
        if visit.link is not None:
            for line in wording.outlook_lines(visit.job, step, visit.link):
                output.say(line)

    def refused(self, step: Step, refusal: Refusal) -> None:
        """Say why the step may not go on."""
        output.say(wording.RULE)
        for line in wording.labelled(step.id, f"may not go on. {refusal}"):
            output.say(line)

    def problem(self, sentence: str) -> None:
        """Say what was not taken."""
        for line in wording.labelled("Not so", sentence):
            output.say(line)

    def concluded(self, visit: Visit, step: Step) -> None:
        """Say the verdict."""
        last = visit.job.steps[step.id].last
        if last is not None:
            for line in wording.labelled(step.id, f"{last.verdict}{f': {last.reason}' if last.reason else ''}"):
                output.say(line)

    async def reply(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """The typed answer; None where a request was made instead."""
        for line in wording.prompt_lines(prompt):
            output.say(line)
        if isinstance(prompt, ConfirmMovement):
            output.say(self._stop_words(visit, step))
        output.say(f"  ({how_to_answer(prompt)})")
        if isinstance(prompt, ConfirmMovement):
            self._lines.forget_waiting()
        text = await self._line()
        if text.startswith("/"):
            await self._request(visit, step, text)
            return None
        if not text and not isinstance(prompt, BeginStep | Conclude | Cross):
            return None
        if isinstance(prompt, ConfirmMovement) and prompt.kind is Confirmation.COUNTDOWN:
            return await self._countdown(text)
        return Reply(_filled_in(prompt, text), self._by)

    async def unblock(self, visit: Visit, step: Step) -> None:
        """Take a request about a refusal."""
        output.say("  (/help says what can be done about it; Enter looks again)")
        text = await self._line()
        if text.startswith("/"):
            await self._request(visit, step, text)

    async def line_needed(self, visit: Visit) -> None:
        """Open the line, after the questions of safety rule R16, or wait until the unit answers again."""
        if visit.link is None:
            await self.connect(visit)
            return
        output.say("The unit does not answer. Enter tries again; /help for anything else")
        text = await self._line()
        if text.startswith("/"):
            await self._request(visit, None, text)
        elif not await visit.answers_again():
            output.say(visit.job.contact.reason)

    async def connect(self, visit: Visit) -> None:
        """
        Ask who else is on the line and who agrees, then connect.

        Raises:
            LinkError: not reached, or not the right unit.

            Left: the terminal is gone.
        """
        output.say("Before connecting: is another master on this line, and who loses data? (as: none)")
        other = await self._line()
        output.say("Who in the control room agrees? (a name)")
        agreed = await self._line()
        link = await visit.connect(self._url, other_master=other, agreed_by=agreed, by=self._by)
        facts = link.facts
        practice = "" if facts.practice is None else f" PRACTICE unit at speed {facts.practice.speed:g}."
        output.say(
            f"Connected: identity {facts.identity}, answers in {facts.round_trip.p50_s * 1000:.1f} ms "
            f"(99 % within {facts.round_trip.p99_s * 1000:.1f} ms).{practice}"
        )

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """Show the motion each second; any typed line stops it."""
        typed = asyncio.ensure_future(self._lines.next())
        while not running.done():
            waited: set[asyncio.Future[object]] = {running, typed}  # type: ignore[arg-type]  # futures of any result
            await asyncio.wait(waited, timeout=1.0, return_when=asyncio.FIRST_COMPLETED)
            if typed.done() and not running.done():
                if visit.stop(self._by or "the keyboard", "stop key"):
                    output.say("STOP sent; it counts only when the valve is seen at rest")
                if typed.result() is None:
                    break
                typed = asyncio.ensure_future(self._lines.next())
            view = None if visit.supervisor is None else visit.supervisor.view
            if view is not None:
                output.say(wording.motion_line(view))
        await asyncio.wait({running})
        typed.cancel()
        runs = list(visit.job.runs.values())
        for line in wording.run_lines(runs[-1]) if runs else []:
            output.say(line)

    async def ask(self, question: ProcedureAsk) -> Answer:
        """A procedure's own question."""
        while True:
            output.say(question.text)
            text = await self._line()
            try:
                value = parse(text, question.unit or "1").value if question.kind == "number" else None
            except (NumberError, UnitError) as error:
                self.problem(str(error))
                continue
            return Answer(question.id, text, self._by, 0, value)

    async def _countdown(self, text: str) -> Reply | None:
        if text.strip().lower() != GO_KEY:
            return Reply(text, self._by)
        waiting = asyncio.ensure_future(self._lines.next())
        for second in range(round(COUNTDOWN_S), 0, -1):
            output.say(f"\a  {second} … (Enter cancels)")
            done, _ = await asyncio.wait({waiting}, timeout=1.0)
            if done:
                output.say("cancelled; nothing was sent")
                return None
        waiting.cancel()
        return Reply(GO_KEY, self._by)

    async def _request(self, visit: Visit, step: Step | None, text: str) -> None:
        name, _, words = text[1:].strip().partition(" ")
        request = REQUESTS.get(name)
        if request is None or name == "help":
            for known, entry in REQUESTS.items():
                output.say(f"  /{known + ' ' + entry.takes:<38} {entry.does}")
            return
        typed = Typed(visit=visit, step=step, words=words.strip(), by=self._by)
        try:
            by = await perform(name, typed)
        except (ValueError, LookupError) as error:
            self.problem(str(error))
            return
        if by:
            self._by = by

    def _stop_words(self, visit: Visit, step: Step) -> str:
        make_safe_s = None if visit.link is None else visit.link.facts.make_safe_s
        return stop_field(visit.job.sheet, wording.safe_end_of(visit.job, step), make_safe_s, STOP_KEY)

    async def _line(self) -> str:
        line = await self._lines.next()
        if line is None:
            raise Left("the terminal is gone")
        return line.strip()


def _filled_in(prompt: Prompt, text: str) -> str:
    """Enter alone says the one word that a prompt without choice asks for; it never starts a motion."""
    if text:
        return text
    match prompt:
        case BeginStep():
            return "begin"
        case Conclude():
            return "conclude"
        case Cross(target=target):
            return target
    return text

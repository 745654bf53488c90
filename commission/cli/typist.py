"""
The speaker at a keyboard: plain lines, one question at a time.

What begins with `/` is not an answer but a request: `/help` lists them. `in_motion` takes the keyboard while the valve
moves, `connecting` asks before there is a line, and `speaker_named` lets one keyboard serve several people.
"""

import asyncio
from collections.abc import Callable

from commission.checklist import Step
from commission.cli import connecting, in_motion, output, saying
from commission.cli.requests import Typed, perform
from commission.cli.typed_lines import REQUEST, TypedLines
from commission.energy import EnergyError
from commission.face import wording
from commission.face.dialogue import Left, Reply
from commission.face.procedure_answer import answer_of
from commission.face.speaker_named import owner_line, with_speaker
from commission.face.understood import query, understood
from commission.job.bodies import PersonAdded
from commission.link.faults import LinkError
from commission.procedures.requests import Answer
from commission.procedures.requests import Ask as ProcedureAsk
from commission.supervise.stop_field import stop_field
from commission.visit import Visit, VisitError
from commission.walk.confirm import COUNTDOWN_S, GO_KEY, Confirmation
from commission.walk.prompts import BeginStep, Conclude, ConfirmMovement, Cross, Prompt, how_to_answer
from commission.walk.refusal import Refusal

SETTLE_S = 0.05
"""A person needs longer than this between two lines; a paste does not (wire time)."""


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
        self._questions = in_motion.Questions()
        self._now_ns: Callable[[], int] = lambda: 0

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
        for line in wording.budget_lines(visit.job, step, visit.clock.utc()):
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
        """The typed answer; None where a request was made instead, or nothing was said."""
        if isinstance(prompt, ConfirmMovement):
            return await self._confirmed(visit, step, prompt)
        for line in wording.prompt_lines(prompt):
            output.say(line)
        if owner := owner_line(visit.job, prompt, self._by):
            saying.say(owner)
        saying.say(f"({how_to_answer(prompt)})", "  ")
        text = await self._line()
        if text.startswith(REQUEST):
            await self._request(visit, step, text)
            return None
        if not text and not isinstance(prompt, BeginStep | Conclude | Cross):
            return None
        if not await self._meant(visit, step, prompt, text):
            return None
        said, by = with_speaker(visit.job, prompt, _filled_in(prompt, text), self._by)
        return Reply(said, by)

    async def _meant(self, visit: Visit, step: Step, prompt: Prompt, text: str) -> bool:
        """A number is shown as it is understood; one that is far from what is expected is asked for once more."""
        doubt = query(prompt, text)
        if not doubt:
            if read := understood(prompt, text):
                output.say(f"  = {read}")
            return True
        saying.say(doubt.partition(": Enter")[0] + ": type the same again if it is so, or anything else to answer anew")
        again = await self._line()
        if again.startswith(REQUEST):
            await self._request(visit, step, again)
        return again == text

    async def _confirmed(self, visit: Visit, step: Step, prompt: ConfirmMovement) -> Reply | None:
        """Rule R13: only what is typed after this was shown, one line at a time; Enter alone does nothing."""
        await visit.clock.sleep_wire(SETTLE_S)  # what is on its way from the terminal was typed ahead too
        self._lines.forget_waiting()
        if prompt.kind is Confirmation.FULL:
            saying.clear_screen()  # the count and the plate's characters may stand above
        for line in wording.confirm_lines(visit.job, step, prompt):
            output.say(line)
        saying.say(self._stop_words(visit, step))
        saying.say(f"({how_to_answer(prompt)})", "  ")
        text = await self._line()
        if text.startswith(REQUEST):
            await self._request(visit, step, text)
            return None
        await visit.clock.sleep_wire(SETTLE_S)
        if self._lines.any_waiting:
            self._lines.forget_waiting()
            self.problem("several lines came at once: what is pasted confirms nothing")
            return None
        if not text:
            return None
        if prompt.kind is Confirmation.COUNTDOWN:
            return await self._countdown(text)
        return Reply(text, self._by)

    async def unblock(self, visit: Visit, step: Step) -> None:
        """Take a request about a refusal."""
        output.say("  (/help lists what can be done about it; Enter looks again)")
        text = await self._line()
        if text.startswith(REQUEST):
            await self._request(visit, step, text)

    async def line_needed(self, visit: Visit) -> None:
        """
        Open the line, after the questions of safety rule R16, or wait until the unit answers again.

        Raises:
            Left: somebody left, or the terminal is gone, with the unit unreached.
        """
        trouble = ""
        try:
            if visit.link is None:
                trouble = await self._connected(visit)
            elif not await visit.answers_again():
                trouble = visit.job.contact.reason
            if trouble:
                self.problem(trouble)
                output.say("  (Enter tries again; /help lists what else can be done)")
                text = await self._line()
                if text.startswith(REQUEST):
                    await self._request(visit, None, text)
        except Left as left:
            raise Left(str(left), unreached=bool(trouble)) from left

    async def _connected(self, visit: Visit) -> str:
        """Connect; why that failed, or nothing."""
        try:
            await connecting.connect(visit, self._url, self._by, self._line)
        except LinkError as error:
            return str(error)
        return ""

    async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
        """Show the motion each second; any typed line stops it."""
        self._now_ns = visit.clock.unit_ns
        await in_motion.show(visit, running, self._lines, self._questions, self._by)

    async def ask(self, question: ProcedureAsk) -> Answer:
        """A procedure's own question, answered while its motion goes on."""
        while True:
            text = await self._questions.ask(question)
            try:
                return answer_of(question, text, self._by, self._now_ns())
            except ValueError as error:
                self.problem(str(error))

    async def _countdown(self, text: str) -> Reply | None:
        if text.strip().lower() != GO_KEY:
            return Reply(text, self._by)
        waiting = asyncio.ensure_future(self._lines.next())
        try:
            for second in range(round(COUNTDOWN_S), 0, -1):
                output.say(f"\a  {second} … (Enter cancels)")
                done, _ = await asyncio.wait({waiting}, timeout=1.0)
                if done:
                    output.say("cancelled; nothing was sent")
                    return None
        finally:
            waiting.cancel()
            await asyncio.gather(waiting, return_exceptions=True)
        return Reply(GO_KEY, self._by)

    async def _request(self, visit: Visit, step: Step | None, text: str) -> None:
        name, _, words = text.removeprefix(REQUEST).strip().partition(" ")
        typed = Typed(visit=visit, step=step, words=words.strip(), by=self._by)
        try:
            self._by = await perform(name.lower(), typed) or self._by
        except (ValueError, LookupError, EnergyError, VisitError) as error:
            self.problem(str(error))

    def _stop_words(self, visit: Visit, step: Step) -> str:
        make_safe_s = None if visit.link is None else visit.link.facts.make_safe_s
        safe_end = wording.safe_end_of(visit.job, step)
        back = in_motion.RETURN_KEY if wording.returns_by_key(visit.job, step) else ""
        return stop_field(visit.job.sheet, safe_end, make_safe_s, in_motion.STOP_KEY, return_key=back)

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

"""
The walk: the step that is due, its cautions first, what is expected and what is now, and the one thing asked.

The conversation asks through `ask` and waits; a typed answer, a key, or something done on another screen ends the wait.
"""

import asyncio
from collections.abc import Iterable
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from commission.checklist import Step
from commission.face import wording
from commission.face.dialogue import Reply
from commission.job.bodies import StepBegun
from commission.supervise.stop_field import stop_field
from commission.terminal import lines
from commission.terminal.frame import Frame
from commission.terminal.widgets.answer import AnswerField
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.phases import Phases
from commission.visit import Visit
from commission.walk import acts
from commission.walk.conclusion import could_not_do
from commission.walk.confirm import COUNTDOWN_S, GO_KEY, Confirmation
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt, how_to_answer
from commission.walk.refusal import Refusal

WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")


class WalkScreen(Frame[None]):
    """The walk of the open visit."""

    own_keys: ClassVar[tuple[Key, ...]] = (
        Key("Enter", "answer", 0),
        Key("N", "not done", 8),
        Key("U", "who", 9),
        Key("G", "GAS", 1),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "keys", show=False),
        Binding("enter", "enter", "answer", show=False),
        Binding("n", "not_done", "not done", show=False),
        Binding("u", "who", "who", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._asked: Prompt | None = None
        self._step: Step | None = None
        self._visit: Visit | None = None
        self._answer: asyncio.Future[Reply | None] | None = None
        self._countdown: asyncio.Task[None] | None = None
        self._purpose = ""

    def body(self) -> Iterable[Widget]:
        """Phases at the left, the step at the right."""
        with Horizontal():
            yield Phases(id="phases", markup=False)
            with VerticalScroll(id="step", can_focus=False):
                yield Static(id="text", markup=False)
                yield Static(id="question", markup=False)
                yield Static(id="hint", markup=False)
                yield AnswerField(id="answer")
                yield Static(id="problem", markup=False)

    def on_mount(self) -> None:
        """Nothing is asked yet, so there is no field."""
        super().on_mount()
        self._field.display = False

    def show_step(self, visit: Visit, step: Step) -> None:
        """Show a step as it is entered."""
        self._visit, self._step = visit, step
        self._draw_step()
        self._say("")

    def show_refusal(self, step: Step, refusal: Refusal) -> None:
        """Show why a step may not go on."""
        self._step = step
        self._draw_step()
        self._say(f"{step.id} may not go on. {refusal}")

    def show_problem(self, sentence: str) -> None:
        """Show what was not taken."""
        self._say(sentence)

    def show_verdict(self, visit: Visit, step: Step) -> None:
        """Say the verdict of the step that was concluded."""
        last = visit.job.steps[step.id].last
        if last is not None:
            self._say("")
            self.query_one("#question", Static).update(
                Content(f"{step.id}: {last.verdict}. {last.reason}".rstrip(". "))
            )

    def show_given(self, text: str) -> None:
        """What is answered by itself, where a person would type it."""
        if self._field.display:
            self._field.value = text
        else:
            self.query_one("#hint", Static).update(Content(text))

    def show_gas_alarm(self) -> None:
        """What to do on a gas alarm."""
        self._say(acts.GAS_ALARM_WORDS)
        self.wake()

    def show_end(self, visit: Visit) -> None:
        """The checklist is at its end."""
        self._visit = visit
        self.query_one("#text", Static).update(
            Content("The checklist is at its end. R shows the report; Q leaves the job.")
        )
        self.query_one("#question", Static).update(Content(""))
        self._field.display = False

    async def ask(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """Ask one thing and wait for its answer; None where something else was done."""
        self._visit, self._step, self._asked = visit, step, prompt
        self._draw_step()
        self._draw_prompt(prompt)
        return await self._wait()

    async def wait_for_act(self, visit: Visit, step: Step | None) -> None:
        """Wait until something was done, or Enter looks again."""
        self._visit, self._step, self._asked = visit, step or self._step, None
        self.query_one("#question", Static).update(Content("Enter looks again."))
        self.query_one("#hint", Static).update(Content(""))
        self._field.display = False
        await self._wait()

    def wake(self) -> None:
        """Something was done elsewhere: the walk is looked at again."""
        if self._answer is not None and not self._answer.done():
            self._answer.set_result(None)

    def action_leave_field(self) -> None:
        """Out of the field, so that keys are keys again."""
        self._purpose = ""
        self.set_focus(None)

    def action_enter(self) -> None:
        """Enter answers what takes one word, and leads into the field where something is typed."""
        match self._asked:
            case BeginStep():
                self._reply("begin")
            case Conclude():
                self._reply("conclude")
            case Cross(target=target):
                self._reply(target)
            case None:
                self.wake()
            case Ask(question=question) if question.kind == "measured":
                self._reply("read")
            case _:
                if self._field.display:
                    self._field.focus()

    def action_not_done(self) -> None:
        """Say why this step could not be done."""
        self._take("not done", f"Why could {'' if self._step is None else self._step.id} not be done?")

    def action_who(self) -> None:
        """Somebody else is at the keyboard."""
        self._take("who", "Who is at the keyboard? Name, role")

    def on_key(self, event: events.Key) -> None:
        """Number keys choose; G begins the countdown of a repeat, and any key cancels it."""
        if self._countdown is not None:
            event.stop()
            event.prevent_default()
            self._cancel_countdown()
            return
        if self.shell.field_focused:
            return
        prompt = self._asked
        if (
            isinstance(prompt, Ask)
            and prompt.question.kind == "choice"
            and event.character
            and event.character.isdecimal()
        ):
            event.stop()
            self._reply(event.character)
        elif isinstance(prompt, ConfirmMovement) and prompt.kind is Confirmation.COUNTDOWN and event.key == GO_KEY:
            event.stop()
            event.prevent_default()
            self._countdown = asyncio.get_running_loop().create_task(self._count_down())

    @on(Input.Submitted, "#answer")
    def submitted(self, event: Input.Submitted) -> None:
        """What was typed goes where it was asked for."""
        text = event.value.strip()
        self._field.clear()
        purpose, self._purpose = self._purpose, ""
        if not text:
            return
        if purpose:
            self._record(purpose, text)
            return
        self._reply(text)

    @property
    def step_id(self) -> str:
        """Id of the step that is shown; empty where there is none."""
        return "" if self._step is None else self._step.id

    @property
    def _field(self) -> AnswerField:
        return self.query_one("#answer", AnswerField)

    async def _wait(self) -> Reply | None:
        self._answer = asyncio.get_running_loop().create_future()
        try:
            return await self._answer
        finally:
            self._answer = None

    def _reply(self, text: str) -> None:
        if self._answer is not None and not self._answer.done():
            self._answer.set_result(Reply(text, self.shell.who))

    def _draw_step(self) -> None:
        if self._visit is None or self._step is None:
            return
        visit, step = self._visit, self._step
        self.query_one("#phases", Phases).show(visit.job, step)
        width = max(40, self.query_one("#step").content_size.width or 54)
        text = wording.step_body(visit.job, step, width)
        if visit.link is not None:
            text += wording.outlook_lines(visit.job, step, visit.link, width)
        self.query_one("#text", Static).update(_coloured(text))

    def _draw_prompt(self, prompt: Prompt) -> None:
        visit, step = self._visit, self._step
        if visit is None or step is None:
            return
        width = max(40, self.query_one("#step").content_size.width or 54)
        text = wording.prompt_lines(prompt, width)
        if isinstance(prompt, Ask) and prompt.question.kind == "choice":
            text += [f"  {number} {choice}" for number, choice in enumerate(prompt.question.choices, start=1)]
        if isinstance(prompt, ConfirmMovement):
            make_safe_s = None if visit.link is None else visit.link.facts.make_safe_s
            text.append(stop_field(visit.job.sheet, wording.safe_end_of(visit.job, step), make_safe_s, lines.STOP_KEY))
        self.query_one("#question", Static).update(Content("\n".join(text)))
        self.query_one("#hint", Static).update(Content(_hint(prompt)))
        typed = _takes_typing(prompt)
        self._field.display = typed
        self._field.refuses_paste = isinstance(prompt, ConfirmMovement)
        self._field.clear()
        if typed and self.is_current:
            self._field.focus()
        elif not typed:
            self.set_focus(None)

    def _take(self, purpose: str, question: str) -> None:
        self._purpose = purpose
        self.query_one("#question", Static).update(Content(question))
        self._field.display = True
        self._field.focus()

    def _record(self, purpose: str, text: str) -> None:
        if self._visit is None:
            return
        try:
            if purpose == "who":
                self.shell.become(self._visit, text)
            else:
                self._not_done(self._visit, text)
        except (ValueError, LookupError) as error:
            self._say(str(error))
        self.wake()

    def _not_done(self, visit: Visit, reason: str) -> None:
        step = self._step
        if step is None:
            return
        state = visit.job.steps.get(step.id)
        if state is None or state.last is None or not state.last.is_open:
            visit.record(StepBegun(step=step.id, cautions=step.cautions), self.shell.who)
        visit.record_all(could_not_do(visit.job, step, reason), self.shell.who)

    def _say(self, sentence: str) -> None:
        self.query_one("#problem", Static).update(Content(sentence))

    def _cancel_countdown(self) -> None:
        countdown, self._countdown = self._countdown, None
        if countdown is not None:
            countdown.cancel()
        self._say("Cancelled; nothing was sent.")

    async def _count_down(self) -> None:
        for second in range(round(COUNTDOWN_S), 0, -1):
            self._say(f"{second} … any key cancels")
            self.app.bell()
            await asyncio.sleep(1.0)
        self._countdown = None
        self._say("")
        self._reply(GO_KEY)


def _takes_typing(prompt: Prompt) -> bool:
    match prompt:
        case BeginStep() | Conclude() | Cross():
            return False
        case Ask(question=question):
            return question.kind not in ("choice", "measured")
        case ConfirmMovement(kind=kind):
            return kind is Confirmation.FULL
    return True


def _hint(prompt: Prompt) -> str:
    match prompt:
        case BeginStep():
            return "Read the caution aloud, then Enter."
        case Conclude():
            return "Enter concludes the step."
        case Cross(target=target):
            return f"Enter: {target}."
        case Ask(question=question) if question.kind == "measured":
            return "Enter: the program reads it."
        case Ask(question=question) if question.kind == "choice":
            return "Press its number."
    return how_to_answer(prompt)


def _coloured(text: list[str]) -> Content:
    parts: list[Content] = []
    for line in text:
        word = next((word for word in WORDS if line.startswith(word)), "")
        if word:
            parts.append(Content.assemble((word, f"bold ${_COLOUR[word]}"), line[len(word) :]))
        else:
            parts.append(Content(line))
    return Content("\n").join(parts)


_COLOUR = {"DANGER": "danger", "WARNING": "warn", "CAUTION": "caution", "NOTICE": "notice"}

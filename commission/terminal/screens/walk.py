"""
The walk: the step that is due, its cautions first, and below them, always in sight, the one thing asked.

The conversation asks through `ask` and waits; a typed answer, a key, or something done on another screen ends the wait.
What the last answer made true (a verdict, a deviation, what became void) stays in sight while the next is asked.
"""

import asyncio
from collections.abc import Iterable
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Input

from commission.checklist import Step
from commission.energy import EnergyError
from commission.face.dialogue import Reply
from commission.face.news import news_of
from commission.face.speaker_named import with_speaker
from commission.face.understood import query, understood
from commission.job.bodies import EnergyLost, kind_of
from commission.procedures.span_plan import SPAN
from commission.record.event import Event
from commission.terminal import aside, asking
from commission.terminal.aside import Aside
from commission.terminal.countdown import Countdown
from commission.terminal.frame import Frame
from commission.terminal.widgets.ask import AskPane
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.step_text import StepText
from commission.terminal.widgets.walk_pane import WalkPane
from commission.visit import Visit, VisitError
from commission.walk import acts
from commission.walk.confirm import GO_KEY, Confirmation
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Prompt
from commission.walk.refusal import Refusal

METER = Key("I", "meter by wire", 1)
"""Where a loop is read."""


LOST = kind_of(EnergyLost)


class WalkScreen(Frame[None]):
    """The walk of the open visit."""

    own_keys: ClassVar[tuple[Key, ...]] = (
        Key("G", "GAS", 1),
        Key("N", "not done", 2),
        Key("X", "state", 3),
        Key("U", "who", 3),
        Key("Q", "leave", 5),
    )
    AUTO_FOCUS = ""  # the field takes the focus when something is asked, and SPACE is the stop key until then
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_field", "keys", show=False),
        Binding("enter", "enter", "answer", show=False),
        Binding("n", "not_done", "not done", show=False),
        Binding("u", "who", "who", show=False),
        Binding("x", "other_state", "other state", show=False),
        Binding("down,pagedown", "read_on", "read on", show=False),
        Binding("up,pageup", "read_back", "read back", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._asked: Prompt | None = None
        self._answered: Prompt | None = None
        self._step: Step | None = None
        self._visit: Visit | None = None
        self._answer: asyncio.Future[Reply | None] | None = None
        self._countdown = Countdown(self._count)
        self._key_check: asyncio.Future[None] | None = None
        self._aside: Aside | None = None
        self._queried = ""

    def body(self) -> Iterable[Widget]:
        """One pane: it draws, and this screen takes keys and answers."""
        yield WalkPane()

    def on_resize(self, event: events.Resize) -> None:
        """Wrap again for the new width."""
        super().on_resize(event)
        self._draw_step()

    def keys_now(self) -> tuple[Key, ...]:
        """Only those that do something now; what is asked aside, and the key check, have their own."""
        if self.shell.watching is None and self._key_check is not None:
            return (Key("SPACE", "press it now", 0), Key("?", "help", 1), Key("Q", "leave", 2))
        if self.shell.watching is None and self._aside is not None and not self._aside.typed:
            return (Key("1-9", "choose", 0), Key("Esc", "back", 0), Key("G", "GAS", 1))
        return super().keys_now()

    def letter_keys(self) -> tuple[Key, ...]:
        """What answers first; all but the key that leads here."""
        others = tuple(key for key in super().letter_keys() if key.key != "W")
        if self._step is None:  # the checklist is at its end
            return tuple(key for key in others if key.key not in ("N", "U", "X"))
        loop = (METER,) if any(use.name == SPAN for use in self._step.procedures) else ()
        return (asking.answer_key(self._asked, more=self._text.more), *loop, *others)

    def draw_lines(self) -> None:
        """Beside the lines of every screen: whether there is more to read, and the value now."""
        super().draw_lines()
        more = self._text.more
        self._shown.note_more()
        if self._visit is None or self._aside is not None:
            return
        if isinstance(self._asked, BeginStep):
            self._pane.hint(asking.hint(self._asked, more=more))
        elif now := asking.now_words(self._visit, self._asked):
            self._pane.hint(f"{asking.hint(self._asked)}  {now}" if self._asked else now)

    async def check_stop_key(self) -> None:
        """Ask once for the stop key, so that whoever stands here has pressed it before anything moves."""
        self._key_check = asyncio.get_running_loop().create_future()
        self._shown.show_words("How to read this screen", asking.BEFORE)
        self._pane.ask(asking.KEY_CHECK, "", typed=False)
        self.set_focus(None)
        self.draw_lines()
        await self._key_check
        self._key_check = None
        self._shown.tell("SPACE seen: the stop key works")

    def take_stop_key(self) -> bool:
        """Whether the stop key is taken here: as seen in the check, or to cancel a countdown."""
        if self._key_check is not None:
            if not self._key_check.done():
                self._key_check.set_result(None)
            return True
        if self._countdown.runs:
            self._countdown.cancel()
            return True
        return False

    def show_step(self, visit: Visit, step: Step) -> None:
        """Show a step as it is entered."""
        self._follow(visit)
        self._step = step
        self._draw_step()
        self._text.scroll_home(animate=False)
        self._pane.say("")

    def show_refusal(self, step: Step, refusal: Refusal) -> None:
        """Show why a step may not go on, and what would settle it."""
        self._step = step
        self._draw_step()
        settles = f"What would settle it: {refusal.instead}" if refusal.instead else ""
        self._pane.say("\n".join(filter(None, (f"{step.id} may not go on: {refusal.reason}.", settles))))

    def show_problem(self, sentence: str) -> None:
        """Show what was not taken."""
        self._pane.say(asking.without_place(sentence, self._step, self._answered))

    def show_verdict(self, visit: Visit, step: Step) -> None:
        """The verdict is told as news by its event; a step that was shown before is marked."""
        self._shown.mark(visit, step)
        self._pane.say("")

    def show_given(self, text: str) -> None:
        """What is answered by itself, where a person would type it."""
        if self._pane.takes_typing:
            self._pane.field.value = text
        else:
            self._pane.hint(text)

    def show_gas_alarm(self) -> None:
        """What to do on a gas alarm."""
        self._countdown.cancel()
        self._shown.forget_news()
        self._shown.tell(f"DANGER   {acts.GAS_ALARM_WORDS}")
        self.wake()

    def show_end(self, visit: Visit) -> None:
        """The checklist is at its end."""
        self._visit, self._step, self._asked = visit, None, None
        self._shown.show_words("The checklist is at its end", asking.END)
        self._pane.ask((), "", typed=False)
        self.set_focus(None)

    async def ask(self, visit: Visit, step: Step, prompt: Prompt) -> Reply | None:
        """Ask one thing and wait for its answer; None where something else was done."""
        self._follow(visit)
        self._step, self._asked = step, prompt
        self._draw_step()
        self._draw_prompt()
        return await self._wait()

    async def wait_for_act(self, visit: Visit, step: Step | None) -> None:
        """Wait until something was done, or Enter looks again."""
        self._follow(visit)
        self._step, self._asked = step or self._step, None
        self._draw_step()
        self._draw_prompt()
        await self._wait()

    def wake(self) -> None:
        """Something was done elsewhere: the walk is looked at again."""
        if self._answer is not None and not self._answer.done():
            self._answer.set_result(None)

    def action_leave_field(self) -> None:
        """Out of the field, so that keys are keys again; out of what was asked aside."""
        self.set_focus(None)
        if self._aside is not None:
            self._draw_prompt(focus=False)

    def action_enter(self) -> None:
        """Enter answers what takes one word, reads on first, and leads into the field where something is typed."""
        if self._pane.takes_typing:
            self.lead_to(self._pane.field)
            return
        if self._aside is not None or self._key_check is not None:
            return
        match self._asked:
            case BeginStep() if self._text.more:
                self._text.read_on()
            case BeginStep():
                self._text.scroll_home(animate=False)  # its caution stands above the questions
                self._reply("begin")
            case Conclude():
                self._reply("conclude")
            case Cross(target=target):
                self._reply(target)
            case Ask(question=question) if question.kind == "measured":
                self._reply("read")
            case None:
                self.wake()

    def action_read_on(self) -> None:
        """More of the cautions."""
        self._text.read_on()

    def action_read_back(self) -> None:
        """The cautions above."""
        self._text.read_back()

    def action_not_done(self) -> None:
        """Say why this step could not be done."""
        if self._visit is not None and self._step is not None:
            self._show_aside(aside.why_not_done(self._visit, self._step, self.shell.who))

    def action_who(self) -> None:
        """Somebody else is at the keyboard."""
        visit = self._visit
        if visit is not None:
            self._show_aside(aside.who_is_there(visit, lambda text: self.shell.become(visit, text)))

    def action_other_state(self) -> None:
        """Go to another energy state, or abandon the crossing under way."""
        if self._visit is None:
            return
        try:
            self._show_aside(aside.another_state(self._visit, self.shell.who))
        except ValueError as error:
            self._pane.say(str(error))

    def on_key(self, event: events.Key) -> None:
        """Number keys choose; one key begins the countdown of a repeat, and any key cancels it."""
        if self._countdown.runs:
            event.stop()
            event.prevent_default()
            self._countdown.cancel()
        elif self._key_check is not None and event.key not in ("q", "question_mark", "f1"):
            event.stop()
            event.prevent_default()
            self._pane.say(f"That was {event.key}. The stop key is SPACE.")
        elif not self.shell.field_focused and self._takes_key(event.character or ""):
            event.stop()
            event.prevent_default()

    @on(Input.Changed, "#answer")
    def changed(self, event: Input.Changed) -> None:
        """Show how a number is understood, before it is taken."""
        if self._asked is not None and self._aside is None:
            read = understood(self._asked, event.value)
            self._pane.understand(f"= {read}" if read else "")

    @on(Input.Submitted, "#answer")
    def submitted(self, event: Input.Submitted) -> None:
        """What was typed goes where it was asked for."""
        text = event.value.strip()
        if not text or self._visit is None:
            return
        if self._aside is not None:
            self._take_aside(text)
        elif isinstance(self._asked, ConfirmMovement) and self._pane.field.came_at_once:
            self._pane.field.empty()
            self._pane.say("That came all at once: what is pasted confirms nothing. Type it.")
        elif self._asked is not None:
            self._take_answer(self._visit, self._asked, text)

    @property
    def step_id(self) -> str:
        """Id of the step that is shown; empty where there is none."""
        return "" if self._step is None else self._step.id

    @property
    def _shown(self) -> WalkPane:
        return self.query_one(WalkPane)

    @property
    def _pane(self) -> AskPane:
        return self._shown.asked

    @property
    def _text(self) -> StepText:
        return self._shown.text

    def _count(self, words: str, *, aloud: bool = False) -> None:
        self._pane.say(words)
        if aloud:
            self.app.bell()

    async def _wait(self) -> Reply | None:
        self._answer = asyncio.get_running_loop().create_future()
        try:
            return await self._answer
        finally:
            self._answer = None

    def _take_answer(self, visit: Visit, prompt: Prompt, text: str) -> None:
        doubt = query(prompt, text)
        if doubt and text != self._queried:
            self._queried = text
            self._pane.say(doubt)
            return
        self._pane.field.empty()
        said, by = with_speaker(visit.job, prompt, text, self.shell.who)
        self._reply(said, by)

    def _takes_key(self, character: str) -> bool:
        """Whether a key that is no binding means something here: a number, or the one key of a repeat."""
        prompt = self._asked
        if self._aside is not None:
            if self._aside.typed or not character.isdecimal():
                return False
            self._take_aside(character)
        elif isinstance(prompt, Ask) and prompt.question.kind == "choice" and character.isdecimal():
            self._reply(character)
        elif _is_repeat(prompt) and character.lower() == asking.MOVE_KEY:
            self._countdown.begin(lambda: self._reply(GO_KEY))
        else:
            return False
        return True

    def _reply(self, text: str, by: str = "") -> None:
        if self._answer is not None and not self._answer.done():
            self._shown.forget_news()
            self._answered, self._asked = self._asked, None  # not asked any more, whatever is shown next
            self._pane.say("")
            self._pane.ask((), "", typed=False)
            self._answer.set_result(Reply(text, by or self.shell.who))

    def _follow(self, visit: Visit) -> None:
        """Hear what happens in a visit, once."""
        if self._visit is not visit:
            self._visit = visit
            visit.on_event(self._heard)

    def _heard(self, event: Event) -> None:
        if self._visit is not None and self.is_mounted and (news := news_of(event, self._visit.job)):
            self._shown.tell(news)
        if event.kind == LOST:  # what was asked in a state that nobody knows any more is asked no more
            self._countdown.cancel()
            self.wake()

    def _draw_step(self) -> None:
        if self._visit is not None and self._step is not None and self.is_mounted:
            self._shown.show(self._visit, self._step)

    def _draw_prompt(self, *, focus: bool = True) -> None:
        visit = self._visit
        if visit is None:
            return
        self._queried, self._aside = "", None
        typed = self._shown.ask(visit, self._step, self._asked, self.shell.who)
        self._focus_field(typed=typed and focus)

    def _focus_field(self, *, typed: bool) -> None:
        if typed and self.is_current:
            self.lead_to(self._pane.field)
        elif not typed:
            self.set_focus(None)

    def _show_aside(self, asked: Aside) -> None:
        if self._key_check is not None:
            return
        self._aside = asked
        self._pane.say("")
        self._pane.ask(asked.lines, asked.hint, typed=asked.typed)
        self._focus_field(typed=asked.typed)

    def _take_aside(self, text: str) -> None:
        asked = self._aside
        if asked is None:
            return
        self._shown.forget_news()
        try:
            asked.take(text)
        except (ValueError, LookupError, EnergyError, VisitError) as error:
            self._pane.say(str(error))
            return
        self._aside = None
        self._pane.say("")
        if self._answer is None:
            self._draw_prompt()
        self.wake()


def _is_repeat(prompt: Prompt | None) -> bool:
    return isinstance(prompt, ConfirmMovement) and prompt.kind is Confirmation.COUNTDOWN

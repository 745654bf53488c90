"""The running test: trace, time, guards and how near each is, what the stop key does. Nothing here takes the focus."""

import asyncio
from collections import deque
from collections.abc import Iterable
from typing import ClassVar

from textual import events
from textual.containers import Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.checklist import Step
from commission.clock import NS_PER_S
from commission.face import wording
from commission.job.motions import open_run
from commission.link.unit import UnitLink
from commission.procedures.guards import OVER_RELIEF
from commission.procedures.requests import Begin
from commission.supervise.order import MotionView
from commission.terminal import moving
from commission.terminal.frame import Frame
from commission.terminal.letters import for_console
from commission.terminal.lines import RETURN_KEY
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.question import QuestionPane
from commission.terminal.widgets.trace import Trace
from commission.visit import Visit
from commission.walk import acts

REDRAW_S = 0.1
MOST_POINTS = 2000
BOTH_TRACES_ROWS = 32
"""Rows from which pressure has a trace of its own below travel."""

TIGHT_ROWS, ROOMY_ROWS = 2, 8
"""How much of what is expected is shown beside a question in a small window, and otherwise."""

SAID_ROWS = 3
"""How much of what was said to the people at the valve stays in sight."""

SOON_S = 0.007
"""Longest that the paint of a key waits for a sample, or it would be seen to lag where samples are rare."""

USELESS_S = 2.0
"""How long it is said of a key that it does nothing, in wire time."""

WORKING = ("s", "h", "c", "g", "G", "upper_g")
"""Keys of the app that do something in a motion too."""

KEY_NAMES = {"question_mark": "?", "full_stop": ".", "comma": ",", "minus": "-"}
"""Keys whose name in the library nobody knows."""


class MotionScreen(Frame[None]):
    """
    Shows the open motion; it can only be stopped from here.

    Args:
        visit: The open visit.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("SPACE", "stop", 0), Key("G", "GAS ALARM", 1))
    with_sides = False

    def __init__(self, visit: Visit) -> None:
        super().__init__()
        self._visit = visit
        self._travel: deque[tuple[float, float]] = deque(maxlen=MOST_POINTS)
        self._pressure: deque[tuple[float, float]] = deque(maxlen=MOST_POINTS)
        self._last_number = 0
        self._ending_ns: int | None = None
        self._shown: dict[str, str] = {}
        self._gas = ""
        self._told = 0
        self._outlooks: tuple[int, list[str]] | None = None
        self._stops_seen = 0
        self._words_next = False
        self._useless: Key | None = None
        self._useless_since_ns = 0

    def body(self) -> Iterable[Widget]:
        """Test and time, what is expected, traces, readings, guards, what became of the stop."""
        drawing, most_bar = self.shell.shows.drawing, self._visit.job.sheet.pump.relief_bar * OVER_RELIEF
        with Vertical():
            yield Static(id="now", markup=False)
            yield Static(id="expected", markup=False)
            yield Trace(0, 100, "%", drawing=drawing, id="travel")
            yield Trace(0, round(most_bar), "b", drawing=drawing, id="pressure")
            yield Static(id="said", markup=False)
            yield Static(id="readings", markup=False)
            yield Static(id="guards", markup=False)
            yield QuestionPane(id="question-pane")
            yield Static(id="stopping", markup=False)

    def on_mount(self) -> None:
        """Begin to draw."""
        super().on_mount()
        self.set_focus(None)
        self.call_after_refresh(self.set_interval, REDRAW_S / 2, self.draw_in_turn)

    def fit(self, width: int, height: int) -> None:
        """Pressure has a trace of its own where there is room."""
        super().fit(width, height)
        self.query_one("#pressure").display = height >= BOTH_TRACES_ROWS

    async def draw_in_turn(self) -> None:
        """Traces and words by turns, when that holds up no reading: together they take all the time between two."""
        await self.shell.desk.after_a_sample()
        self._words_next = not self._words_next
        self._draw(traces=self._words_next, words=not self._words_next)

    def draw(self) -> None:
        """Draw the motion as it is now."""
        self._draw(traces=True, words=True)

    def _draw(self, *, traces: bool, words: bool) -> None:
        supervisor = self._visit.supervisor
        view, begun = (None, None) if supervisor is None else (supervisor.view, supervisor.begun)
        if view is None or begun is None:
            return
        if traces:
            self.draw_traces(view, begun)
        if words:
            self.draw_words(view, begun)

    def draw_traces(self, view: MotionView, begun: Begin) -> None:
        """What was seen over time."""
        self._take(view)
        self.query_one("#travel").display = "travel" in begun.roles

    def draw_words(self, view: MotionView, begun: Begin) -> None:
        """Everything else."""
        clock, width = self._visit.clock, self.size.width
        self._say("now", moving.heading(view, begun, clock.unit_ns()))
        asked = None if view.ending else self.shell.speaker.question
        tight = self.size.height < BOTH_TRACES_ROWS and (asked is not None or bool(view.said))
        self._say("expected", self._expected(view, width, TIGHT_ROWS if tight else ROOMY_ROWS))
        self._tell(view.said)
        self._say("readings", moving.readings(view))
        bits = asked is None or not tight
        self._say("guards", "\n".join(moving.guard_lines(begun, view.latest, self._silent_s(view), width, bits=bits)))
        self._say("stopping", f"{self._gas} {self._stopping(view, begun)}".strip())
        self._pane.show(asked)

    def keys_now(self) -> tuple[Key, ...]:
        """The stop first; then what answers the question that is open, or leads to the practice unit."""
        if self.shell.watching is not None:
            return super().keys_now()
        if self._pane.takes_letters:
            return (self.own_keys[0], Key("Enter", "answers", 0), Key("Esc", "then G: GAS ALARM", 1))
        hands = () if self.shell.desk.hands is None else (Key("H", "at the unit", 2),)
        back = (Key(RETURN_KEY, "return", 0),) if self._returns else ()
        return (*self._useless_now, *self.own_keys, *back, *self._pane.keys, *hands)

    @property
    def _returns(self) -> bool:
        """Whether this motion has a return of its own beside the stop."""
        begun = None if self._visit.supervisor is None else self._visit.supervisor.begun
        return begun is not None and begun.stop_command is not None

    @property
    def _useless_now(self) -> tuple[Key, ...]:
        """For a moment after a key that does nothing now: that it does nothing."""
        passed_s = (self._visit.clock.wire_ns() - self._useless_since_ns) / NS_PER_S
        return () if self._useless is None or passed_s > USELESS_S else (self._useless,)

    @property
    def takes_letters(self) -> bool:
        """Whether a line of words is being typed, so that G is a letter."""
        return self._pane.takes_letters

    def on_key(self, event: events.Key) -> None:
        """Keys for the question that is open; the stop key was taken before."""
        if self._pane.take(event, self.shell.who or "the keyboard", self._visit.clock.unit_ns()):
            event.stop()
            event.prevent_default()
        elif event.key in ("r", "R", "upper_r") and self._returns:
            event.stop()
            event.prevent_default()
            self._visit.stop(self.shell.who or "the keyboard", "return key", returning=True)
        elif event.key not in WORKING:
            self._does_nothing(event.key)

    @property
    def _pane(self) -> QuestionPane:
        return self.query_one(QuestionPane)

    def show_gas_alarm(self) -> None:
        """What to do on a gas alarm, beside what becomes of the stop."""
        self._gas = acts.GAS_ALARM_WORDS

    def _tell(self, said: tuple[str, ...]) -> None:
        """What the test tells the people at the valve: beeped when it is new, the newest last and standing out."""
        if len(said) > self._told:
            self._told = len(said)
            self.app.bell()
            older = [(f"{words}\n", "") for words in said[-SAID_ROWS:-1]]
            self.query_one("#said", Static).update(Content.assemble(*older, (said[-1], "bold reverse")))

    def stop_seen(self) -> None:
        """The stop key was pressed: said at once, and each time that it is pressed again."""
        self._stops_seen += 1
        self.draw()

    def _does_nothing(self, key: str) -> None:
        """Say of a key that it does nothing while the valve moves, so that nobody takes the program for dead."""
        self._useless = Key(KEY_NAMES.get(key, key.capitalize()), "does nothing while the valve moves", 2)
        self._useless_since_ns = self._visit.clock.wire_ns()
        self.run_worker(self._draw_lines_soon(), group="keys", exclusive=True)

    async def _draw_lines_soon(self) -> None:
        """After the sample that is due, so that painting a key makes no reading late; soon, where a line is slow."""
        sampled = asyncio.get_running_loop().create_task(self.shell.desk.after_a_sample())
        try:
            await asyncio.wait({sampled}, timeout=SOON_S)
        finally:
            sampled.cancel()
            await asyncio.gather(sampled, return_exceptions=True)
        self.draw_lines()

    def _take(self, view: MotionView) -> None:
        """Take the newest sample into the traces; each is drawn once."""
        readings = view.latest
        if readings is None or readings.number == self._last_number:
            return
        self._last_number = readings.number
        at_s = (readings.at_ns - view.begun_ns) / NS_PER_S
        for role, factor, points in (("travel", 100, self._travel), ("cylinder_pressure", 1e-5, self._pressure)):
            value = readings.value(role)
            if value is not None:
                points.append((at_s, value * factor))
        self.query_one("#travel", Trace).show(self._travel)
        if self.query_one("#pressure").display:
            self.query_one("#pressure", Trace).show(self._pressure)

    def _expected(self, view: MotionView, width: int, rows: int) -> str:
        """What is expected, in so many rows; the walk has shown all of it."""
        if self._visit.link is None:
            return ""
        step = self._visit.job.checklist.step(view.step)
        return "\n".join(self._outlook(step, self._visit.link, width)[:rows])

    def _outlook(self, step: Step, link: UnitLink, width: int) -> list[str]:
        if self._outlooks is None or self._outlooks[0] != width:
            self._outlooks = (width, wording.outlook_lines(self._visit.job, step, link, width))
        return self._outlooks[1]

    def _silent_s(self, view: MotionView) -> float:
        clock = self._visit.clock
        since_ns = view.begun_ns if view.latest is None else view.latest.at_ns
        return max(0.0, (clock.unit_ns() - since_ns) / NS_PER_S / clock.speed)

    def _stopping(self, view: MotionView, begun: Begin) -> str:
        seen = f"SPACE seen {self._stops_seen} x. " if self._stops_seen else ""
        return seen + self._ending(view, begun)

    def _ending(self, view: MotionView, begun: Begin) -> str:
        if not view.ending:
            return ""
        now_ns = self._visit.clock.wire_ns()
        if held := wording.held_line(view, now_ns):
            self._ending_ns = None  # a return asked for now is tried anew
            return held
        self._ending_ns = now_ns if self._ending_ns is None else self._ending_ns
        if begun.safe_command is None:
            return "ENDING: nothing is sent from here; samples are kept. Stay clear."
        run = open_run(self._visit.job.runs)
        own = moving.own_guard(run, begun, self._visit.clock.unit_ns())
        return own + moving.stopping(run, self._visit.job.sheet, (now_ns - self._ending_ns) / NS_PER_S)

    def _say(self, name: str, text: str) -> None:
        before = self._shown.get(name)
        if before != text:
            self._shown[name] = text
            moves = before is None or _rows(before, self.size.width) != _rows(text, self.size.width)
            self.query_one(f"#{name}", Static).update(Content(for_console(self, text)), layout=moves)


def _rows(text: str, width: int) -> tuple[int, ...]:
    """Where a text may be broken: as long as that stays, nothing else moves, and no layout holds up the polling."""
    return tuple(len(line) if len(line) > width else 0 for line in text.split("\n")) if text else ()

"""The wiring proof while it runs: what to work now, big; what was seen; every contact as it reads."""

import re
from collections.abc import Iterable

from textual.containers import Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.checklist import LOOKS
from commission.procedures.requests import Begin
from commission.sheet import ROLES, RoleKind
from commission.sheet.decode import Readings
from commission.supervise.order import MotionView
from commission.terminal import moving
from commission.terminal.screens.motion import BOTH_TRACES_ROWS, MotionScreen
from commission.terminal.widgets.question import QuestionPane
from commission.visit import Visit
from commission.walk.route import open_step

SEEN_ROWS = 4
"""How many findings stay in sight."""

TIGHT_SEEN_ROWS = 1
"""As many beside a question in a small window, where the line that is typed into comes first."""

CALLED = ("NEXT  ", "SEEN  ", "NOT SO  ")
"""How a proof begins what it says aloud; what is next is big, the rest is what became of it."""


_WAY_OUT = re.compile(r"\s*\(Or: [^)]*\)\.?$")
"""How to say that it cannot be done: it stands with the question, not in what is called over to the valve."""


class WiringScreen(MotionScreen):
    """
    Shows a proof that only looks: readable from the valve, beeping at each change, ended by the stop key.

    Args:
        visit: The open visit.
    """

    def body(self) -> Iterable[Widget]:
        """What to do now, what was seen, the contacts, the question for who stands at the keys."""
        with Vertical():
            yield Static(id="now", markup=False)
            yield Static(id="call", markup=False)
            yield Static(id="said", markup=False)
            yield Static(id="contacts", markup=False)
            yield QuestionPane(id="question-pane")
            yield Static(id="stopping", markup=False)

    def fit(self, width: int, height: int) -> None:
        """Nothing here is left out where there is less room."""
        super(MotionScreen, self).fit(width, height)

    def draw_traces(self, view: MotionView, begun: Begin) -> None:
        """There are none."""

    def draw_words(self, view: MotionView, begun: Begin) -> None:
        """The proof as it is now."""
        elapsed_s = (self._visit.clock.unit_ns() - view.begun_ns) / 1e9
        self._say("now", f"{view.test}   {elapsed_s:.0f} s   {'ENDING' if view.ending else 'watching, hands free'}")
        asked = None if view.ending else self.shell.speaker.question
        self._tell(view.said)
        rows = TIGHT_SEEN_ROWS if asked is not None and self.size.height < BOTH_TRACES_ROWS else SEEN_ROWS
        self._say("said", "\n".join(called(view.said)[1][-rows:]))
        self._say("contacts", contact_lines(view, self.size.width))
        self._say("stopping", f"{self._gas} {self._stopping(view, begun)}".strip())
        self._pane.show(asked)

    def _tell(self, said: tuple[str, ...]) -> None:
        """Beep at what is new; what to do next stands big."""
        if len(said) <= self._told:
            return
        self._told = len(said)
        self.app.bell()
        self.query_one("#call", Static).update(Content(called(said)[0].upper()))

    @property
    def _pane(self) -> QuestionPane:
        return self.query_one(QuestionPane)


def only_looks(visit: Visit) -> bool:
    """Whether the step that is open watches hands rather than moves the valve."""
    step = open_step(visit.job)
    return step is not None and any(use.name in LOOKS for use in step.procedures)


def called(said: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """What is to be done now, and what was seen so far."""
    calls = [_WAY_OUT.sub("", words.removeprefix(CALLED[0])) for words in said if not words.startswith(CALLED[1:])]
    return calls[-1] if calls else "", tuple(words for words in said if words.startswith(CALLED[1:]))


def contact_lines(view: MotionView, width: int) -> str:
    """Every contact as it reads now, alarms only where they are active; silence instead where nothing comes."""
    if view.silence is not None:
        return moving.readings(view)
    return "" if view.latest is None else _wrapped(list(_contacts(view.latest)), width)


def _contacts(readings: Readings) -> Iterable[str]:
    for role, reading in readings.by_role.items():
        is_bit = ROLES[role].kind is RoleKind.BIT
        if is_bit and (reading.is_true or not role.startswith("alarm_") or role == "alarm_relay"):
            meaning = ROLES[role]
            yield f"{meaning.label}: {meaning.true_word if reading.is_true else meaning.false_word}"


def _wrapped(words: list[str], width: int) -> str:
    """As many to a line as fit, none broken."""
    lines = [""]
    for word in words:
        longer = f"{lines[-1]}   {word}" if lines[-1] else word
        lines = [*lines[:-1], longer] if len(longer) <= width else [*lines, word]
    return "\n".join(lines)

"""
At the unit: what somebody who practises sees beside the practice unit, and what they can do there with their own hands.

Two number keys do a thing: the place, then what is done there. The screen exists for a practice unit that was started
here and for nothing else; without such hands it closes itself.
"""

import asyncio
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from textwrap import shorten
from typing import Any, ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.face.at_unit import LOOKS, WAIT_ACT, Act, Doing, Hands, NotPossible, Place, places, seen, with_amount
from commission.terminal.frame import Frame
from commission.terminal.letters import ascii_only
from commission.terminal.screens.motion import MotionScreen
from commission.terminal.widgets.entry import Entry
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, clipped, heading, paragraph
from commission.visit import Visit, VisitError, waits

LOOK_S = 0.5
"""Wire seconds between two looks."""

SEEN_ROWS = 12
OTHER_ROWS = 6
"""State, heading of the place, what the test asks, what became of the last act, keys, stop field."""

OVER = "The test is over. Finish what you do here; Esc then leads to its result."

_LABEL = 14


class AtUnitScreen(Frame[None]):
    """What is seen above, the places or the things to do below, the amount and what became of it at the foot."""

    DEFAULT_CSS = """
    AtUnitScreen #seen { height: auto; max-height: 12; scrollbar-gutter: auto; scrollbar-size-vertical: 0; }
    AtUnitScreen #doings { padding: 0 1; scrollbar-gutter: auto; scrollbar-size-vertical: 0; }
    AtUnitScreen #asked { height: auto; max-height: 2; padding: 0 1; text-style: bold; }
    AtUnitScreen #amount { padding: 0 1; }
    AtUnitScreen #outcome { height: auto; max-height: 3; padding: 0 1; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,b", "back", "back", show=False),
        Binding("enter", "take_amount", "take", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._looked: dict[str, Any] | None = None
        self._place: int | None = None
        self._doing: Doing | None = None
        self._busy = False
        self.left = asyncio.Event()
        """Set once nobody stands here any more."""

    def body(self) -> Iterable[Widget]:
        """Seen, doings, amount, outcome."""
        drawing = self.shell.shows.drawing
        yield Page(id="seen", drawing=drawing)
        yield Page(id="doings", drawing=drawing)
        yield Static(id="asked", markup=False)
        yield Entry(id="amount")
        yield Static(id="outcome", markup=False)

    def on_mount(self) -> None:
        """Look, and look again."""
        super().on_mount()
        self.query_one("#seen", Page).can_focus = False
        self.query_one("#doings", Page).can_focus = False
        self._entry.close()
        self.set_focus(None)
        self.set_interval(LOOK_S, self.look)
        self.look()

    def on_unmount(self) -> None:
        """Whoever waits for these hands goes on."""
        self.left.set()

    def keys_now(self) -> tuple[Key, ...]:
        """What works here now."""
        if self.shell.watching is not None:
            return super().keys_now()
        stop = (Key("SPACE", "stop", 0), Key("G", "GAS", 1)) if self.shell.desk.in_motion else ()
        if self._doing is not None:
            return (*stop, Key("Enter", "does it", 0), Key("Esc", "does not", 0))
        word = "a place" if self._place is None else "does it"
        back = "back" if self._place is None else "places"
        return (*stop, Key("1-9", word, 0), Key("Esc", back, 0), *(() if stop else (Key("?", "help", 1),)))

    def look(self) -> None:
        """Look at everything once; a look that is still under way is not overtaken."""
        hands = self.shell.desk.hands
        if hands is None:
            self.dismiss(None)
        elif not self._busy:
            self.run_worker(self._look(hands), group="look")

    def action_back(self) -> None:
        """Out of the amount, out of the place, out of the screen."""
        if self._doing is not None:
            self._doing = None
            self._entry.close()
        elif self._place is not None:
            self._place = None
        else:
            self.dismiss(None)
            return
        self._say("")
        self._draw()

    def action_take_amount(self) -> None:
        """Do what the amount was typed for."""
        doing = self._doing
        if doing is None:
            return
        try:
            act = with_amount(doing, self._entry.value)
        except ValueError as error:
            self._say(str(error))
            return
        typed, self._doing = self._entry.value, None
        self._entry.close()
        self._begin(act, f"{doing.words} {typed}")

    def on_key(self, event: events.Key) -> None:
        """Digits choose; with an amount asked for, they are its digits."""
        if self._entry.take(event) or self._chosen(event.character or ""):
            event.stop()
            event.prevent_default()

    @property
    def _entry(self) -> Entry:
        return self.query_one("#amount", Entry)

    def _chosen(self, character: str) -> bool:
        if self._doing is not None or not character.isdecimal() or self._looked is None:
            return False
        number, here = int(character) - 1, self._places()
        if self._place is None:
            if 0 <= number < len(here):
                self._place = number
                self._say("")
        elif 0 <= number < len(here[self._place].doings):
            self._do(here[self._place].doings[number])
        self._draw()
        return True

    def _do(self, doing: Doing) -> None:
        if doing.amount:
            self._doing = doing
            self._entry.open()
            self._say("")
        else:
            self._begin(doing.act, doing.words)

    def _begin(self, act: Act, words: str) -> None:
        visit, hands = self.shell.desk.visit, self.shell.desk.hands
        self._say("")
        if visit is not None and hands is not None:
            self.run_worker(self._done(visit, hands, act, words), group="act")

    async def _done(self, visit: Visit, hands: Hands, act: Act, words: str) -> None:
        """Do it, say what became of it, look again."""
        try:
            if act.act == WAIT_ACT:
                await let_pass(visit, hands, act, self.shell.walk.step_id, self.shell.who)
            else:
                await hands.act(act)
        except (NotPossible, ValueError) as trouble:
            self._say(f"NOT DONE: {trouble}")
            return
        if act.act != WAIT_ACT:
            await asyncio.sleep(0.1)  # acts take effect at the unit's next scan
        await self._look(hands)  # before it is called done: nobody reads off what was before it
        self._say(f"Done: {words}")

    async def _look(self, hands: Hands) -> None:
        self._busy = True
        try:
            looked = {name: await hands.look(name) for name in LOOKS}
        except NotPossible as trouble:
            self._say(f"The practice unit does not answer: {trouble}")
            return
        finally:
            self._busy = False
        self._looked = looked
        self._draw()

    def _places(self) -> tuple[Place, ...]:
        visit = self.shell.desk.visit
        if visit is None or self._looked is None:
            return ()
        return places(visit.job.sheet, self._looked)

    def _draw(self) -> None:
        visit, looked = self.shell.desk.visit, self._looked
        if visit is None or looked is None or not self.is_here:
            return
        rows = seen(visit.job.sheet, looked)
        page = self.query_one("#seen", Page)
        page.styles.max_height = self._room_for_seen
        page.show(lambda width: seen_lines(rows, width))
        self.query_one("#doings", Page).show(self._doing_lines)
        asked = self._asked
        amount = "" if self._doing is None else _wanted(self._doing)
        if self._place is not None:  # the list needs each row; beside the places it stands whole
            asked = shorten(asked, max(20, self.size.width - 2), placeholder=" ...")
        self._show("#asked", amount or asked)
        self.draw_lines()

    @property
    def _asked(self) -> str:
        """What the running test wants from here; or that it is over, and its result waits."""
        question = self.shell.speaker.question
        if question is not None:
            return f"The test asks: {_without_how(question.asked.text)}"
        tests = any(isinstance(screen, MotionScreen) for screen in self.app.screen_stack)
        return OVER if tests and not self.shell.desk.in_motion else ""

    @property
    def _room_for_seen(self) -> int:
        """Rows for what is seen: at a place, each thing that can be done there comes first."""
        here = self._places()
        doings = 0 if self._place is None or self._place >= len(here) else len(here[self._place].doings)
        return min(SEEN_ROWS, self.size.height - OTHER_ROWS - doings) if doings else SEEN_ROWS

    def _doing_lines(self, width: int) -> list[Line]:
        here = self._places()
        if self._place is None:
            names = [f" {number}  {place.name}" for number, place in enumerate(here, start=1)]
            return [
                heading("Where do you put your hands?"),
                *(clipped(row, width) for row in _side_by_side(names, width)),
            ]
        place = here[self._place]
        return [heading(place.name.capitalize()), *_listed((doing.words for doing in place.doings), width)]

    def _say(self, words: str) -> None:
        self._show("#outcome", words)

    def _show(self, where: str, words: str) -> None:
        if not self.is_here:
            return
        line = self.query_one(where, Static)
        line.display = bool(words)
        line.update(Content(words if self.shell.shows.drawing else ascii_only(words)))


def seen_lines(rows: Iterable[tuple[str, str]], width: int) -> list[Line]:
    """What is seen, a label before each line."""
    lines: list[Line] = [heading("You stand at the practice unit. Nothing here reaches a real one.")]
    for label, words in rows:
        lines += paragraph(words, width, f"{label:<{_LABEL}}", " " * _LABEL)
    return lines


def _wanted(doing: Doing) -> str:
    """What is typed for a thing that needs an amount."""
    return f"{doing.words.removesuffix(' ...')}: type {doing.amount}, then Enter."


def _without_how(asked: str) -> str:
    """A question without how it is answered, which nobody can do from here: the list above needs the row."""
    return asked[: asked.rindex(" (")] if asked.endswith(")") and " (" in asked else asked


def _side_by_side(names: Sequence[str], width: int) -> list[str]:
    """In two columns, so that all of them are in sight below what is seen, in the smallest window too."""
    rows = -(-len(names) // 2)
    return [f"{left:<{width // 2}}{right}" for left, right in zip_longest(names[:rows], names[rows:], fillvalue="")]


def _listed(names: Iterable[str], width: int) -> list[Line]:
    return [clipped(f" {number}  {name}", width) for number, name in enumerate(names, start=1)]


async def let_pass(visit: Visit, hands: Hands, act: Act, step: str, who: str) -> None:
    """
    Let time pass at the unit and in the program by the same, and say so in the record.

    Raises:
        NotPossible: a test runs that does not only wait, or the unit is gone.
    """

    async def at_unit(seconds: float) -> None:
        await hands.act(Act(act=WAIT_ACT, value=seconds))

    try:
        await waits.let_pass(visit, float(act.value or 0), at_unit, step, who or "program")
    except VisitError as refused:
        raise NotPossible(str(refused)) from refused

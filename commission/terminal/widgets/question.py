"""
A procedure's question on the running test: the question, the line that answers it, what was not taken.

Nothing here takes the focus, so SPACE stays the stop key. A number is typed as it stands; yes and no are one key, and
so is the go for a valve that moves on; words take Enter first, and from then on G is a letter and no gas alarm, until
Enter or Esc.
"""

from collections.abc import Mapping

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.events import Key as Pressed
from textual.widgets import Static

from commission.face.procedure_answer import MOVE_KEY, how_to_answer, number_understood
from commission.terminal.letters import for_console
from commission.terminal.question import OpenQuestion
from commission.terminal.widgets.entry import Entry
from commission.terminal.widgets.lines import Key

_WORDS_HINT = "Enter, then type; SPACE stops, so put _ for a blank"


_BY_ONE_KEY: Mapping[str, tuple[Key, ...]] = {
    "yes": (Key("Y", "yes", 0), Key("N", "no", 0)),
    "go": (Key(MOVE_KEY.upper(), "moves on", 0),),
    "key": (),
}
"""Kinds that take one key, with the keys that they take; none where it is any key."""


class QuestionPane(Vertical):
    """Takes no room while nothing is asked."""

    DEFAULT_CSS = """
    QuestionPane { height: auto; }
    QuestionPane #asked { text-style: bold reverse; }
    QuestionPane #not-taken { text-style: bold; }
    """

    def __init__(self, id: str) -> None:  # noqa: A002  # Textual's own name
        super().__init__(id=id)
        self._question: OpenQuestion | None = None

    def compose(self) -> ComposeResult:
        """Question, entry, trouble."""
        yield Static(id="asked", markup=False)
        yield Entry(id="entry")
        yield Static(id="not-taken", markup=False)

    def on_mount(self) -> None:
        """Nothing is asked yet."""
        self._draw()

    @property
    def keys(self) -> tuple[Key, ...]:
        """The keys that answer what is asked."""
        if self._question is None:
            return ()
        kind = self._question.asked.kind
        if kind in _BY_ONE_KEY:
            return _BY_ONE_KEY[kind]
        return (Key("Enter", "answers" if kind == "number" else "types words", 0),)

    @property
    def takes_letters(self) -> bool:
        """Whether words are being typed."""
        return self._question is not None and self._question.asked.kind == "text" and self._entry.is_open

    def show(self, question: OpenQuestion | None) -> None:
        """Show what is asked now, as soon as there is a place for it; the same question is not begun anew."""
        if question is not self._question and self.children:
            self._question = question
            self._draw()

    def take(self, event: Pressed, by: str, at_ns: int) -> bool:
        """Whether a key was for the question that is open."""
        question = self._question
        if question is None:
            return False
        if question.asked.kind in _BY_ONE_KEY:
            letter = (event.character or "").lower()
            wanted = [key.key.lower() for key in _BY_ONE_KEY[question.asked.kind]]
            return (not wanted or letter in wanted) and self._give(question, letter, by, at_ns)
        if question.asked.kind == "number" and event.key == "h" and not self._entry.value:
            return False  # no number begins with it, and it leads to the practice unit, where the reading is
        if event.key == "enter":
            return self._entered(question, by, at_ns)
        if event.key == "escape" and self._entry.is_open:
            self._draw()
            return True
        taken = self._entry.take(event)
        if taken and (read := number_understood(question.asked, self._entry.value)):
            self._entry.note(f"= {read}")
        return taken

    @property
    def _entry(self) -> Entry:
        return self.query_one("#entry", Entry)

    def _entered(self, question: OpenQuestion, by: str, at_ns: int) -> bool:
        if not self._entry.is_open:
            self._entry.open()
            return True
        return self._give(question, self._entry.value, by, at_ns)

    def _give(self, question: OpenQuestion, text: str, by: str, at_ns: int) -> bool:
        words = text.replace("_", " ") if question.asked.kind == "text" else text
        try:
            question.give(words, by, at_ns)
        except ValueError as error:
            self._say(f"Not taken: {error}")
        else:
            self._say("")
        return True

    def _draw(self) -> None:
        question, asked = self._question, self.query_one("#asked", Static)
        self.display = question is not None
        self._entry.close()
        self._say("")
        if question is None:
            return
        kind = question.asked.kind
        hint = _WORDS_HINT if kind == "text" else how_to_answer(question.asked)
        asked.update(Content(for_console(self, f"{question.asked.text}  ({hint})")))
        if kind == "number":
            self._entry.open()

    def _say(self, words: str) -> None:
        line = self.query_one("#not-taken", Static)
        line.display = bool(words)
        line.update(Content(for_console(self, words)))

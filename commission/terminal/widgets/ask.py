"""The foot of the walk: what is asked, what is expected, how to answer, the field, and what was not taken."""

from collections.abc import Iterable

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from commission.terminal.letters import for_console
from commission.terminal.widgets.answer import AnswerField


class AskPane(Vertical):
    """Always visible below the cautions; foreign text in it is never markup."""

    DEFAULT_CSS = """
    AskPane { height: auto; max-height: 15; }
    AskPane #question { height: auto; max-height: 9; text-style: bold; }
    AskPane #hint { height: auto; max-height: 3; color: $secondary; }
    AskPane #typed { height: 1; }
    AskPane #here { width: 2; }
    AskPane #answer { width: 1fr; }
    AskPane #understood { width: auto; max-width: 50%; padding: 0 1; text-style: bold; }
    AskPane #problem { height: auto; max-height: 8; }
    """

    def compose(self) -> ComposeResult:
        """Question, how to answer, field with what is understood beside it, trouble."""
        yield Static(id="question", markup=False)
        yield Static(id="hint", markup=False)
        with Horizontal(id="typed"):
            yield Static("> ", id="here", markup=False)
            yield AnswerField(id="answer")
            yield Static(id="understood", markup=False)
        yield Static(id="problem", markup=False)

    def on_mount(self) -> None:
        """Nothing is asked yet, so there is no field."""
        self.typed(shown=False)

    @property
    def field(self) -> AnswerField:
        """Where answers are typed."""
        return self.query_one("#answer", AnswerField)

    @property
    def takes_typing(self) -> bool:
        """Whether the field is there."""
        return bool(self.query_one("#typed").display)

    def ask(self, lines: Iterable[str], hint: str, *, typed: bool, refuses_paste: bool = False) -> None:
        """Show a question, with a field or without."""
        self.query_one("#question", Static).update(Content(for_console(self, "\n".join(lines))))
        self.hint(hint)
        self.understand("")
        self.typed(shown=typed)
        self.field.refuses_paste = refuses_paste
        self.field.empty()

    def typed(self, *, shown: bool) -> None:
        """Show or hide the field."""
        self.query_one("#typed").display = shown

    def hint(self, words: str) -> None:
        """How to answer."""
        self.query_one("#hint", Static).update(Content(for_console(self, words)))

    def understand(self, words: str) -> None:
        """What the number typed so far is taken for."""
        self.query_one("#understood", Static).update(Content(for_console(self, words)))

    def say(self, sentence: str) -> None:
        """What was not taken, or what is to be done now; empty for nothing."""
        self.query_one("#problem", Static).update(Content(for_console(self, sentence)))

"""
What the walk shows: the phases at the left; at the right what was just done, the step, and what is asked about it.

Apart from the walk screen, which takes keys and answers: this only draws, for the width that there is.
"""

import textwrap
from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from commission.checklist import Step
from commission.face import wording
from commission.terminal import asking
from commission.terminal.letters import for_console
from commission.terminal.widgets.ask import AskPane
from commission.terminal.widgets.lines import PlainLine
from commission.terminal.widgets.phases import Phases
from commission.terminal.widgets.step_text import StepText, coloured
from commission.visit import Visit
from commission.walk.prompts import ConfirmMovement, Prompt

WIDE = 110
"""From here on the phases show whole titles."""

NEWS = 3
"""So many pieces of news stay in sight."""

_NARROW_PHASES, _WIDE_PHASES = 24, 44


class WalkPane(Horizontal):
    """Draws where the walk stands."""

    DEFAULT_CSS = """
    WalkPane #right { width: 1fr; height: 100%; padding: 0 1; }
    WalkPane #news { height: auto; max-height: 5; }
    WalkPane #title { height: 1; text-style: bold reverse; }
    WalkPane #more { height: 1; color: $secondary; text-align: right; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._news: list[str] = []

    def compose(self) -> ComposeResult:
        """Phases; news, title, text and question of the step."""
        yield Phases(id="phases", markup=False)
        with Vertical(id="right"):
            yield Static(id="news", markup=False)
            yield Static(id="title", markup=False)
            yield StepText(id="step-text")
            yield PlainLine(id="more")
            yield AskPane(id="ask")

    @property
    def asked(self) -> AskPane:
        """What is asked, and where it is answered."""
        return self.query_one("#ask", AskPane)

    @property
    def text(self) -> StepText:
        """The text of the step."""
        return self.query_one("#step-text", StepText)

    @property
    def columns(self) -> int:
        """Columns for text at the right, its scrollbar left out."""
        return max(40, self.app.size.width - self._phases_columns - 3)

    @property
    def _phases_columns(self) -> int:
        return _WIDE_PHASES if self.app.size.width >= WIDE else _NARROW_PHASES

    def show(self, visit: Visit, step: Step) -> None:
        """Draw a step: its phase, its title, its cautions first, then what to do and what the line can decide."""
        phases = self.query_one("#phases", Phases)
        phases.styles.width = self._phases_columns
        phases.show(visit.job, step, self._phases_columns - 2)
        self._draw_news()
        text = wording.step_body(visit.job, step, self.columns)
        if visit.link is not None:
            text += wording.outlook_lines(visit.job, step, visit.link, self.columns)
        text += wording.budget_lines(visit.job, step, visit.clock.utc(), self.columns)
        self._show(wording.title_line(visit.job, step, self.columns), text)

    def ask(self, visit: Visit, step: Step | None, prompt: Prompt | None, who: str) -> bool:
        """Draw what is asked, for whoever is at the keys; whether it is answered in the field."""
        if prompt is None or step is None:
            self.asked.ask(("This step waits.",), *asking.WAITS, typed=False)
            return False
        lines = asking.asked_lines(visit, prompt, who, self.columns)
        confirms = isinstance(prompt, ConfirmMovement)
        if confirms:
            safe_end, returns = wording.safe_end_of(visit.job, step), wording.returns_by_key(visit.job, step)
            lines.append(asking.stop_words(visit, safe_end, self.columns, returns=returns))
        typed = asking.takes_typing(prompt)
        self.asked.ask(lines, asking.hint(prompt), typed=typed, refuses_paste=confirms)
        return typed

    def show_words(self, title: str, paragraphs: Sequence[str]) -> None:
        """Draw words that belong to no step, each paragraph wrapped."""
        self._draw_news()
        lines = [line for words in paragraphs for line in ("", *textwrap.wrap(words, self.columns))]
        self._show(title, lines[1:])

    def mark(self, visit: Visit, step: Step) -> None:
        """Draw how far the phases have come."""
        self.query_one("#phases", Phases).show(visit.job, step)

    def tell(self, news: str) -> None:
        """One more piece of news."""
        self._news.append(news)
        self._draw_news()

    def forget_news(self) -> None:
        """What was told is old by now; it goes with the next that is drawn."""
        self._news.clear()

    def note_more(self) -> None:
        """Say whether there is more to read."""
        self.query_one("#more", PlainLine).show("more below: arrow down" if self.text.more else "")

    def _show(self, title: str, text: Sequence[str]) -> None:
        self.query_one("#title", Static).update(Content(for_console(self, title)))
        self.text.show(text)

    def _draw_news(self) -> None:
        told = [for_console(self, news) for news in self._news[-NEWS:]]
        self.query_one("#news", Static).update(coloured(told))

"""The text of a step: its cautions first and in full; what does not fit is scrolled, and read to its end."""

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from commission.terminal.letters import for_console

SIGNAL_WORDS = {"DANGER": "danger", "WARNING": "warn", "CAUTION": "caution", "NOTICE": "notice"}
"""The signal words, each with the theme's colour for it (ANSI Z535.4); the word itself is always there."""


class StepText(VerticalScroll, can_focus=False):
    """Scrolled by keys of the screen, also while a field is focused."""

    DEFAULT_CSS = "StepText { height: 1fr; min-height: 2; scrollbar-size-vertical: 1; }"

    def compose(self) -> ComposeResult:
        """One text."""
        yield Static(id="text", markup=False)

    @property
    def more(self) -> bool:
        """Whether something below is not yet in sight."""
        return bool(self.max_scroll_y > self.scroll_offset.y)

    def show(self, lines: Sequence[str]) -> None:
        """Show lines from their top; lines that begin with a signal word get its colour."""
        self.query_one("#text", Static).update(coloured([for_console(self, line) for line in lines]))

    def read_on(self) -> None:
        """The next lines, one of the last ones kept in sight."""
        self.scroll_relative(y=max(1, self.size.height - 1), animate=False)

    def read_back(self) -> None:
        """The lines before."""
        self.scroll_relative(y=-max(1, self.size.height - 1), animate=False)


def coloured(lines: Sequence[str]) -> Content:
    """Lines as content, their signal words in colour and bold."""
    parts: list[Content] = []
    for line in lines:
        word = next((word for word in SIGNAL_WORDS if line.startswith(word)), "")
        if word:
            parts.append(Content.assemble((word, f"bold ${SIGNAL_WORDS[word]}"), line[len(word) :]))
        else:
            parts.append(Content(line))
    return Content("\n").join(parts)

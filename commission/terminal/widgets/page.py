"""A page of plain lines that scrolls: made anew for each width, cut nowhere within a word, never read as markup."""

import textwrap
import unicodedata
from collections.abc import Callable, Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from commission.terminal.letters import ascii_only

Parts = tuple[tuple[str, str], ...]
"""Pieces of one line, each with its style, as `("12.3", "strike")`; no style is an empty one."""

Line = str | Parts
MadeFor = Callable[[int], Sequence[Line]]
"""Makes the lines for so many columns."""

TWO_COLUMNS = 70
"""From so many columns on, a list of choices stands in two or more."""


def visible(text: str) -> str:
    """The text with control, format and direction characters as `<U+0007>`, so that none acts on a terminal."""
    return "".join(
        f"<U+{ord(character):04X}>" if unicodedata.category(character)[0] == "C" else character
        for character in text.replace("\n", " ").replace("\t", " ")
    )


def clipped(text: str, width: int) -> str:
    """The text on one line, control characters made visible; cut at a word and ended by `…` where it is too long."""
    shown = visible(text)
    if len(shown) <= width:
        return shown
    cut = shown[: max(0, width - 1)].rstrip()
    at_word = cut.rsplit(" ", 1)[0] if " " in cut.lstrip() and len(cut.rsplit(" ", 1)[0]) > width // 2 else cut
    return f"{at_word.rstrip(' ,;:')}…"


def paragraph(text: str, width: int, first: str = "", later: str | None = None) -> list[str]:
    """The text wrapped, control characters made visible; `first` before it, `later` before the lines that follow."""
    rest = " " * len(first) if later is None else later
    return textwrap.wrap(visible(text), width, initial_indent=first, subsequent_indent=rest) or [first.rstrip()]


def heading(text: str) -> Parts:
    """A line that stands out."""
    return ((text, "bold"),)


def numbered(names: Sequence[str], width: int) -> list[str]:
    """Names with the numbers they are chosen by, in as many columns as fit, down each column."""
    cells = [f"{number:>2} {visible(name)}" for number, name in enumerate(names, start=1)]
    column = min(width // 2 if width >= TWO_COLUMNS else width, max((len(cell) for cell in cells), default=0) + 2)
    rows = -(-len(cells) // max(1, width // max(1, column)))
    return [
        "".join(f"{clipped(cell, column - 1):<{column}}" for cell in cells[row::rows]).rstrip() for row in range(rows)
    ]


class Page(VerticalScroll):
    """Lines that scroll with the arrow keys; made again when the width changes."""

    DEFAULT_CSS = """
    Page { height: 1fr; width: 100%; padding: 0 1; scrollbar-gutter: stable; scrollbar-size-vertical: 1; }
    Page.full { padding: 0; scrollbar-gutter: auto; scrollbar-size-vertical: 0; }
    Page > Static { width: 100%; height: auto; }
    """

    def __init__(self, *, drawing: bool = True, id: str | None = None, classes: str = "") -> None:  # noqa: A002  # Textual's own name
        super().__init__(id=id, classes=classes, can_focus=True)
        self._drawing = drawing
        self._made: MadeFor = lambda _width: ()

    def compose(self) -> ComposeResult:
        """One text."""
        yield Static(markup=False)

    def show(self, made: MadeFor) -> None:
        """Show these lines from now on."""
        self._made = made
        self._draw()

    def on_resize(self) -> None:
        """The same lines for another width."""
        self._draw()

    @property
    def columns(self) -> int:
        """How many columns a line may have."""
        return max(20, self.scrollable_content_region.width or 77)

    def _draw(self) -> None:
        lines = [fitting(line, self.columns, drawing=self._drawing) for line in self._made(self.columns)]
        self.query_one(Static).update(Content("\n").join(lines))


def fitting(line: Line, width: int, *, drawing: bool) -> Content:
    """A line as the console can show it, no longer than there is room."""
    if not isinstance(line, str):
        pieces = ((visible(piece), style) for piece, style in line)
        return Content.assemble(*((piece if drawing else ascii_only(piece), style) for piece, style in pieces))
    text = visible(line) if drawing else ascii_only(visible(line))
    if len(text) <= width:
        return Content(text)
    indent = " " * (len(text) - len(text.lstrip()))
    return Content("\n".join(textwrap.wrap(text, width, subsequent_indent=indent)))

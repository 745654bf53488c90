"""
The film clock on the whole screen: large digits, the two check digits below them, drawn anew twenty times a second.

It is filmed in one picture with the stem; `analysis.film_clock` says what two readings off the film are worth. As a
program of its own it needs no job and no unit, so any laptop near the valve will do; `screens.film_clock` shows it in
the app, also while a test runs. Nothing is sent to anything from here.
"""

from collections.abc import Callable
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from commission.analysis.film_clock import REDRAWN_S, FilmReading, reading_at

HINT = "Film this and the stem in one picture. Read off time and the two digits below."
SHORT_HINT = "Film this and the stem."

_GLYPHS = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("  #", "  #", "  #", "  #", "  #"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ":": (" ", "#", " ", "#", " "),
    ".": (" ", " ", " ", " ", "#"),
}
_ROWS = 5
_BLOCK, _PLAIN_BLOCK = "█", "#"


class FilmClockApp(App[None]):
    """
    The clock, until somebody ends it.

    Args:
        now_ns: A running count of nanoseconds; the clock begins at zero.

        drawing: Whether the console draws more than plain letters.
    """

    CSS = "Screen { align: center middle; } Static { width: auto; text-align: center; }"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,Q,escape,ctrl+c", "quit", "end", show=False)]

    def __init__(self, now_ns: Callable[[], int], *, drawing: bool = True) -> None:
        super().__init__()
        self._now_ns = now_ns
        self._begun_ns = now_ns()
        self._drawing = drawing

    def compose(self) -> ComposeResult:
        """One picture."""
        yield Static(id="clock", markup=False)

    def on_mount(self) -> None:
        """Begin to run."""
        self.set_interval(REDRAWN_S, self.draw)
        self.draw()

    def draw(self) -> None:
        """Draw the time as it is now."""
        reading = reading_at(self._now_ns() - self._begun_ns)
        shown = picture(reading, self.size.width, self.size.height, drawing=self._drawing, ends="Q ends.")
        self.query_one("#clock", Static).update(shown)


def picture(reading: FilmReading, width: int, height: int, *, drawing: bool, ends: str) -> str:
    """
    The reading as large as a window has room for, with what to do under it.

    Args:
        reading: What the clock shows.

        width: Columns.

        height: Rows.

        drawing: Whether the console draws blocks; plain letters otherwise.

        ends: What ends it, as `Q ends.`
    """
    across, down = scale(reading.time_text, width, (height - 4) // 2)
    block = _BLOCK if drawing else _PLAIN_BLOCK
    lines = [large(text, across, down, block) for text in (reading.time_text, reading.check_text)]
    hint = HINT if len(HINT) + len(ends) < width else SHORT_HINT
    return "\n".join([*lines[0], "", *lines[1], "", f"{hint} {ends}"])


def scale(text: str, width: int, height: int) -> tuple[int, int]:
    """How many columns and rows one block of a digit may take, 1 and 1 at the least."""
    units = sum(len(_GLYPHS[letter][0]) + 1 for letter in text) - 1
    down = max(1, height // _ROWS)
    return max(1, min(width // units, 2 * down + 1)), down


def large(text: str, across: int, down: int, block: str) -> list[str]:
    """
    Digits of blocks, one string a row.

    Args:
        text: Digits, colons and points.

        across: Columns a block.

        down: Rows a block.

        block: The letter that a block is made of.
    """
    lines = []
    for row in range(_ROWS):
        drawn = " ".join(_GLYPHS[letter][row] for letter in text)
        line = "".join((block if cell == "#" else " ") * across for cell in drawn)
        lines += [line] * down
    return lines

"""
The film clock on the whole screen: large digits, the two check digits below them, drawn anew twenty times a second.

It is filmed in one picture with the stem; `analysis.film_clock` says what two readings off the film are worth. It needs
no job and no unit, so any laptop near the valve will do. Nothing is sent to anything from here.
"""

from collections.abc import Callable
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from commission.analysis.film_clock import REDRAWN_S, FilmReading, reading_at

HINT = "Film this and the stem in one picture. Read off time and the two digits below. Q ends."

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
_BLOCK = "█"


class FilmClockApp(App[None]):
    """
    The clock, until somebody ends it.

    Args:
        now_ns: A running count of nanoseconds; the clock begins at zero.
    """

    CSS = "Screen { align: center middle; } Static { width: auto; text-align: center; }"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,Q,escape,ctrl+c", "quit", "end", show=False)]

    def __init__(self, now_ns: Callable[[], int]) -> None:
        super().__init__()
        self._now_ns = now_ns
        self._begun_ns = now_ns()

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
        self.query_one("#clock", Static).update(picture(reading, self.size.width, self.size.height))


def picture(reading: FilmReading, width: int, height: int) -> str:
    """The reading as large as a window of so many columns and rows has room for, with what to do under it."""
    room = height - 4
    across, down = scale(reading.time_text, width, room // 2)
    lines = [*large(reading.time_text, across, down), "", *large(reading.check_text, across, down), ""]
    return "\n".join([*lines, *([HINT] if len(HINT) <= width else ["Film this and the stem. Q ends."])])


def scale(text: str, width: int, height: int) -> tuple[int, int]:
    """How many columns and rows one block of a digit may take, 1 and 1 at the least."""
    units = sum(len(_GLYPHS[letter][0]) + 1 for letter in text) - 1
    down = max(1, height // _ROWS)
    return max(1, min(width // units, 2 * down + 1)), down


def large(text: str, across: int, down: int) -> list[str]:
    """
    Digits of blocks, one string a row.

    Args:
        text: Digits, colons and points.

        across: Columns a block.

        down: Rows a block.
    """
    lines = []
    for row in range(_ROWS):
        drawn = " ".join(_GLYPHS[letter][row] for letter in text)
        line = "".join((_BLOCK if cell == "#" else " ") * across for cell in drawn)
        lines += [line] * down
    return lines

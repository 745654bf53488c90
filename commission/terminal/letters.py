"""
Plain letters for a console that shows no others: signs with a meaning are spelled out before a line is laid out, and
whatever is left, frames and scrollbars of the library among it, becomes one letter of the same width at the very end.
"""

from functools import lru_cache

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter
from textual.widget import Widget

_SPELLED = str.maketrans(
    {
        "…": "...", "±": "+/-", "≥": ">=", "≤": "<=", "−": "-", "–": "-", "—": "-", "×": "x", "°": " deg ", "¾": "3/4",
        "½": "1/2", "Ω": "ohm", "µ": "u", "μ": "u", "²": "2", "³": "3", "·": ".", "÷": "/", "→": "->", "“": '"',
        "”": '"', "’": "'",
    }
)  # fmt: skip
_DRAWN = {"│": "|", "┃": "|", "─": "-", "━": "-", "█": "#", "•": "*"}
_BLOCKS = range(0x2580, 0x25A0)
_LINES = range(0x2500, 0x2580)


def ascii_only(text: str) -> str:
    """The text in plain letters; signs with a meaning are spelled out, what has no plain letter becomes `?`."""
    return text.replace(" °", "°").translate(_SPELLED).encode("ascii", "replace").decode("ascii")


def for_console(widget: Widget, text: str) -> str:
    """The text as the console of a widget's app can show it."""
    shows = getattr(widget.app, "shows", None)
    return text if shows is None or shows.drawing else ascii_only(text)


class PlainLetters(LineFilter):
    """Turns what is about to be written into ASCII, each letter into one of the same width."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002  # the library's own
        """The same segments, their text in plain letters."""
        return [Segment(plain(segment.text), segment.style, segment.control) for segment in segments]


@lru_cache(2048)
def plain(text: str) -> str:
    """The text in ASCII, as wide as it was."""
    return text if text.isascii() else "".join(_plain_letter(letter) for letter in text)


def _plain_letter(letter: str) -> str:
    if letter.isascii():
        return letter
    if letter in _DRAWN:
        return _DRAWN[letter]
    if ord(letter) in _BLOCKS:
        return " "
    if ord(letter) in _LINES:
        return "+"
    spelled = letter.translate(_SPELLED)
    width = cell_len(letter)
    return spelled if spelled.isascii() and len(spelled) == width else "?" * width

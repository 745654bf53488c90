"""
Text made safe for the report: a character that cannot be drawn is shown by its number, and never stops the report.

Under PDF/A a character without a glyph is an error, as is half of a surrogate pair; both can come from a pasted note or
a unit's own text. Markup is no matter here: texts reach the page as data.
"""

import bisect
import unicodedata

from commission.report.covered import COVERED

_FIRST = tuple(first for first, _ in COVERED)
_SPACES = "\t\n\v\f\r\x85\u2028\u2029"
_BASIC_LAST = 0x7E


def clean(text: str) -> str:
    """
    The text with every character that the fonts lack as `[U+1F44D]`, and line breaks and tabs as spaces.

    Letters are composed first (Unicode normal form C), because a letter with its accent more often has a glyph.
    """
    return "".join(_drawn(character) for character in unicodedata.normalize("NFC", text))


def basic(text: str) -> str:
    """The text with everything outside printable ASCII as its number: the last resort, which any font can draw."""
    return "".join(
        character if character >= " " and ord(character) <= _BASIC_LAST else _number(character) for character in text
    )


def is_covered(character: str) -> bool:
    """Whether the fonts can draw this character."""
    code = ord(character)
    index = bisect.bisect_right(_FIRST, code) - 1
    return index >= 0 and COVERED[index][0] <= code <= COVERED[index][1]


def _drawn(character: str) -> str:
    if character in _SPACES:
        return " "
    return character if is_covered(character) else _number(character)


def _number(character: str) -> str:
    return f"[U+{ord(character):04X}]"

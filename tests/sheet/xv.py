"""The sheet of XV-1101 as text and as a value, and changes to it: what the sheet tests are made of."""

from functools import lru_cache

from commission.content import ContentError, Text, checklists_folder, read_text
from commission.sheet import Sheet, parse_sheet

PATH = checklists_folder() / "units" / "xv-1101.toml"


@lru_cache(maxsize=1)
def xv_text() -> str:
    """The sheet's text."""
    return read_text(PATH).text


@lru_cache(maxsize=1)
def xv_1101() -> Sheet:
    """The sheet."""
    return parse_sheet(Text(PATH.name, xv_text()))


def changed_text(*changes: tuple[str, str]) -> str:
    """
    The sheet's text with replacements.

    Raises:
        AssertionError: what is to be replaced does not stand there exactly once.
    """
    text = xv_text()
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def changed(*changes: tuple[str, str]) -> Sheet:
    """The sheet with replacements."""
    return parse_sheet(Text("xv.toml", changed_text(*changes)))


def problems_of(*changes: tuple[str, str]) -> list[str]:
    """What is wrong with the sheet once it is changed so; empty where nothing is."""
    try:
        changed(*changes)
    except ContentError as error:
        return [str(problem) for problem in error.problems]
    return []

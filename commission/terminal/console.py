"""What this terminal can show: colour or none, line drawing or plain letters."""

import os
import sys
from collections.abc import Mapping

import msgspec


class Console(msgspec.Struct, frozen=True):
    """
    What can be shown.

    Args:
        colour: False under NO_COLOR and on a terminal that knows none.

        drawing: Whether frames and dots beyond ASCII can be shown.
    """

    colour: bool
    drawing: bool


def console(environment: Mapping[str, str] | None = None, encoding: str | None = None) -> Console:
    """
    What the terminal of this process can show.

    Args:
        environment: The process's environment where None.

        encoding: Of standard output where None.
    """
    known = os.environ if environment is None else environment
    coded = (encoding if encoding is not None else getattr(sys.stdout, "encoding", None) or "").lower()
    terminal = known.get("TERM", "")
    colour = not known.get("NO_COLOR") and terminal != "dumb"
    coding = coded.replace("-", "").replace("_", "") in _WIDE
    return Console(colour, coding and terminal not in _PLAIN_TERMINALS and _locale(known) not in _PLAIN_LOCALES)


_WIDE = ("utf8", "utf16", "cp65001")
_PLAIN_TERMINALS = ("dumb", "vt100")
_PLAIN_LOCALES = ("C", "POSIX")
"""Python writes UTF-8 under these too (PEP 538, PEP 540), but the console behind it was not asked."""


def _locale(known: Mapping[str, str]) -> str:
    """The locale of characters, by the order of POSIX (Base Definitions 8.2): LC_ALL, LC_CTYPE, LANG."""
    names = ["LC_ALL", "LC_CTYPE", "LANG"]
    if known.get("LC_CTYPE") == "C.UTF-8":  # Python's own doing where the locale is C (PEP 538)
        names.remove("LC_CTYPE")
    return next((known[name] for name in names if known.get(name)), "")

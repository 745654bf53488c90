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
    drawing = coded.replace("-", "").replace("_", "") in ("utf8", "utf16", "cp65001") and terminal not in (
        "dumb",
        "vt100",
    )
    return Console(colour, drawing)

"""
The sheet of a unit: what it is (`model`), where its points are (`points`, `roles`), read strictly (`load_sheet`) and
checked for contradictions (`check`). `decode` turns raw registers into readings through it.
"""

from functools import lru_cache
from pathlib import Path

from commission.content import ContentError, Text, load, read_text
from commission.sheet.check import contradictions
from commission.sheet.model import Action, End, FailEffect, Sheet
from commission.sheet.points import Point, WriteClass
from commission.sheet.roles import ROLES, Role, RoleKind

__all__ = [
    "ROLES",
    "Action",
    "End",
    "FailEffect",
    "Point",
    "Role",
    "RoleKind",
    "Sheet",
    "WriteClass",
    "load_sheet",
    "parse_sheet",
]


@lru_cache(maxsize=32)
def parse_sheet(source: Text) -> Sheet:
    """
    The sheet in a TOML text; the last ones are remembered.

    Raises:
        ContentError: with every mistake of the text, contradictions included.
    """
    sheet = load(Sheet, source)
    problems = contradictions(sheet, source.name)
    if problems:
        raise ContentError(problems)
    return sheet


def load_sheet(path: Path) -> tuple[Sheet, Text]:
    """
    The sheet in a file, with the text it came from.

    Raises:
        ContentError: as for `parse_sheet`, or the file cannot be read.
    """
    source = read_text(path)
    return parse_sheet(source), source

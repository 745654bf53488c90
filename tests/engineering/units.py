"""The demonstration station's three units, and changes to them: what the engineering tests are made of."""

from functools import lru_cache

import msgspec

from commission.content import checklists_folder
from commission.engineering.moving import Mover
from commission.engineering.unit import Unit
from commission.sheet import Sheet, load_sheet

TAGS = ("xv-1101", "fcv-2204", "bdv-3307")


@lru_cache(maxsize=8)
def sheet_of(tag: str) -> Sheet:
    """A shipped sheet."""
    return load_sheet(checklists_folder() / "units" / f"{tag}.toml")[0]


@lru_cache(maxsize=8)
def unit_of(tag: str) -> Unit:
    """A unit of the station."""
    return Unit(sheet_of(tag))


def drawn_unit(tag: str) -> Unit:
    """The unit with its spring as the sheet draws it, as in the tables of the station's papers."""
    return unit_of(tag) if sheet_of(tag).spring is None else changed_unit(tag, "spring", tolerance_pct=None)


def mover_of(tag: str) -> Mover:
    """Its strokes."""
    return Mover(unit_of(tag))


def changed_unit(tag: str, part: str, **values: object) -> Unit:
    """The unit with fields of one part of its sheet replaced."""
    sheet = sheet_of(tag)
    return Unit(msgspec.structs.replace(sheet, **{part: msgspec.structs.replace(getattr(sheet, part), **values)}))

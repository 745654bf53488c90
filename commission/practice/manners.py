"""
How a unit's link behaves where no sheet says so: what it makes of addresses that are in no list, and how slow it is.

Real units differ in this, and a program that reads them finds out on site.
"""

import msgspec

from commission.sheet import Sheet


class Manners(msgspec.Struct, frozen=True, kw_only=True):
    """
    The habits of one unit's link.

    Args:
        lenient: An address between two of the list reads 0 instead of being refused.

        forbidden: Addresses, by table as the unit's own list counts, that are refused all the same: first and last.

        slow_s: What it takes longer to answer than others, in unit time.
    """

    lenient: bool = False
    forbidden: tuple[tuple[str, int, int], ...] = ()
    slow_s: float = 0.0


STRICT = Manners()

_OF = {
    "FCV-2204": Manners(lenient=True, forbidden=(("input", 29, 29), ("holding", 2, 10))),
    "BDV-3307": Manners(slow_s=0.12),
}


def manners_of(sheet: Sheet) -> Manners:
    """The habits of this unit; strict and quick where nothing is known."""
    return _OF.get(sheet.identity.tag, STRICT)

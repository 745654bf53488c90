"""A sheet as a key of a cache: what is computed from one sheet is computed once, however often a screen is drawn."""

from commission.sheet.model import Sheet


class SameSheet:
    """
    A sheet that equals itself and no other object: sheets hold dictionaries and cannot be hashed by value.

    Args:
        sheet: Kept alive as long as the key, so that its identity is not given to another.
    """

    __slots__ = ("sheet",)

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet

    def __hash__(self) -> int:
        return id(self.sheet)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SameSheet) and other.sheet is self.sheet

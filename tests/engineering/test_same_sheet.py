"""Tests of a sheet as a key."""

import msgspec

from commission.engineering.same_sheet import SameSheet
from tests.engineering.units import sheet_of


def test_a_sheet_equals_itself_and_no_copy() -> None:
    """Also not one with the same contents: nothing is assumed about what a copy was changed in."""
    sheet = sheet_of("xv-1101")
    copy = msgspec.structs.replace(sheet)
    assert SameSheet(sheet) == SameSheet(sheet)
    assert SameSheet(sheet) != SameSheet(copy)
    assert SameSheet(sheet) != sheet
    assert {SameSheet(sheet): 1}[SameSheet(sheet)] == 1

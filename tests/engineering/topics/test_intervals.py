"""Tests of the plan of tests: soonest first, the owner's choice, an unknown rule."""

from datetime import date

import msgspec
import pytest

from commission.engineering.topics.intervals import planned
from commission.sheet.owner import Interval
from tests.engineering.units import sheet_of


def test_the_tests_of_the_shutdown_valve() -> None:
    """Partial stroke in three months, the regulation by its calendar, the full test in two years."""
    found = planned(sheet_of("xv-1101"), date(2026, 11, 26))
    assert [(one.what, one.due.latest.isoformat(), one.due.binds) for one in found] == [
        ("partial stroke test", "2027-02-26", "interval"),
        ("valve inspected and partially operated", "2027-12-31", "calendar"),
        ("full stroke proof test", "2028-11-26", "interval"),
    ]
    assert found[1].chosen_by == "Fable River Pipeline Company"


def test_an_unknown_rule_names_the_known_ones() -> None:
    """Rather than a date that nobody chose."""
    odd = Interval(what="x", rule="gas transmision valve", chosen_by="y")
    sheet = msgspec.structs.replace(sheet_of("xv-1101"), intervals=(odd,))
    with pytest.raises(KeyError, match="gas transmission valve"):
        planned(sheet, date(2026, 1, 1))

"""Conditions of a step on the sheet."""

import pytest

from commission.sheet import Sheet, parse_sheet
from commission.walk.conditions import field, full_name, why_not
from tests.walk.visits import texts


@pytest.fixture
def sheet() -> Sheet:
    """The invented XV-1101."""
    return parse_sheet(texts()[0])


@pytest.mark.parametrize(
    "when",
    [
        {},
        {"action": "spring-return"},
        {"actuator.action": "spring-return"},
        {"monitor": True},
        {"action": ["double-acting", "spring-return"]},
        {"partial_stroke.turned_by": "unit"},
        {"normally_closed_vent": False},
        {"role.supply_voltage": True},
        {"role.set_point": False},
    ],
)
def test_a_condition_that_holds(sheet: Sheet, when: dict[str, object]) -> None:
    """Fields, dotted fields, presence, any of a list, roles."""
    assert why_not(when, sheet) == ""


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ({"action": "double-acting"}, "action is spring-return; the step is for double-acting (from the sheet)"),
        ({"role.set_point": True}, "role.set_point is absent; the step is for present (from the sheet)"),
        ({"fail_position": ["open"]}, "fail_position is closed; the step is for open (from the sheet)"),
        ({"environment.heater_w": True}, "environment.heater_w is absent; the step is for present (from the sheet)"),
    ],
)
def test_a_condition_that_fails_says_what_the_sheet_has(sheet: Sheet, when: dict[str, object], words: str) -> None:
    """The reason is printed as `not applicable (why)`."""
    assert why_not(when, sheet) == words


@pytest.mark.parametrize("name", ["acton", "actuator.colour", "role.colour", "sources.id"])
def test_a_name_that_no_sheet_has_is_an_error(name: str) -> None:
    """A misspelt condition never silently applies."""
    with pytest.raises(KeyError):
        full_name(name)


def test_a_field_is_looked_up_by_its_name(sheet: Sheet) -> None:
    """Also for what answers are compared with."""
    assert field("identity.serial", sheet) == "EH-40117"
    assert field("monitor.high_trip_bar", sheet) == 70.0

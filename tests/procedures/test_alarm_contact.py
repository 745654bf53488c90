"""N8 played at the practice unit: four states in volts."""

from collections.abc import Callable

import msgspec
import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.practice.condition import Condition
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.procedures.alarm_contact import STATES, alarm_contact
from tests.procedures.played import play
from tests.procedures.practised import Practised
from tests.sheet.xv import xv_1101


def contact(condition: Condition, **said: str) -> WiringSeen:
    """Play it at a unit in this condition."""
    there = Practised(PracticeUnit(xv_1101(), condition=condition))
    there.unit.advance(1.0)

    def then(**acts: bool) -> Callable[[SiteDesk], None]:
        def hand(desk: SiteDesk) -> None:
            for name, value in acts.items():
                desk.act(name, value)
            there.unit.advance(1.0)

        return hand

    there.hands = {
        "contact alarm": then(lift_float=True),
        "contact power off": then(lift_float=False, control_supply=False),
        "contact wire cut": then(control_supply=True, alarm_wire_cut=True),
        "contact whole": then(alarm_wire_cut=False),
    }
    for state in STATES:
        there.said |= {f"contact {state}": "done", f"room {state}": state}
        there.numbers[f"volts {state}"] = lambda desk: float(desk.read("alarm_volts"))
    there.said |= {"contact whole": "done", **said}
    seen, begun = play(alarm_contact(xv_1101(), {"test": "N8 1"}), there)
    assert isinstance(seen, WiringSeen)
    assert begun.commands == ()
    assert not begun.moves
    return seen


def test_alarm_power_off_and_cut_wire_look_the_same_and_unlike_healthy() -> None:
    """24 V healthy, none in the others."""
    seen = contact(Condition())
    assert seen.proved
    assert [point.seen for point in seen.points] == ["24 V", "0 V", "0 V", "0 V"]
    assert [point.read_back for point in seen.points] == list(STATES)


def test_a_contact_chosen_from_the_drawing_is_silent_without_power() -> None:
    """The planted finding: it looks healthy when the unit is dead."""
    seen = contact(Condition(alarm_contact_inverted=True))
    found = {point.forced: point.finding for point in seen.points}
    assert found["alarm contact, power off"] is Finding.INVERTED
    assert found["alarm contact, alarm"] is Finding.RIGHT
    assert "silent when it matters" in seen.words


def test_a_state_that_cannot_be_made_is_no_blank() -> None:
    """No isolator for control power."""
    seen = contact(Condition(), **{"contact power off": "cannot, its isolator is seized"})
    assert not seen.proved
    assert any(point.finding is Finding.NOT_FORCED and "seized" in point.words for point in seen.points)


def test_a_unit_without_the_relay_is_refused() -> None:
    """With what it lacks."""
    sheet = xv_1101()
    blind = tuple(point for point in sheet.points if point.role != "alarm_relay")
    with pytest.raises(ValueError, match="alarm relay"):
        next(alarm_contact(msgspec.structs.replace(sheet, points=blind), {}))

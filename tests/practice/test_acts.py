"""Values that an act takes, and the ones it refuses."""

import pytest

from commission.practice.acts import Act, NotDone, perform
from tests.practice.made import MakeUnit


@pytest.mark.parametrize(
    ("act", "says"),
    [
        (Act(name="motor_isolator", value=1), "true or false"),
        (Act(name="hand_pump", value=True), "a number"),
        (Act(name="hand_pump", value=-1.0), "a number"),
        (Act(name="ambient_c", value="warm"), "a number"),
        (Act(name="selector", value="AUTO"), "LOCAL, OFF or REMOTE"),
        (Act(name="bleed", value=True), "BV-1"),
        (Act(name="draw_off_oil", value=100.0), "not so much oil"),
        (Act(name="test_pump_bar", value=10.0), "root valve is open"),
        (Act(name="vent_sensing_line"), "root valve is open"),
    ],
    ids=lambda value: value.name if isinstance(value, Act) else "",
)
def test_what_is_refused_says_what_was_expected(make_unit: MakeUnit, act: Act, says: str) -> None:
    """And changes nothing."""
    unit = make_unit()
    before = repr(unit.side)
    with pytest.raises(NotDone, match=says):
        perform(unit, act)
    assert repr(unit.side) == before


def test_a_dead_panel_does_nothing(make_unit: MakeUnit) -> None:
    """Buttons without control supply are pressed in vain."""
    unit = make_unit()
    perform(unit, Act(name="control_supply", value=False))
    perform(unit, Act(name="local_open"))
    unit.advance(5.0)
    assert not unit.truth().pump_on


def test_oil_drawn_off_is_counted(make_unit: MakeUnit) -> None:
    """What left the tank is in the container, and can be filled in again."""
    unit = make_unit()
    before_l = unit.truth().oil_l
    perform(unit, Act(name="draw_off_oil", value=2.5))
    assert unit.truth().oil_l + unit.side.drawn_off_l == pytest.approx(before_l)
    perform(unit, Act(name="draw_off_oil", value=-2.5))
    assert unit.truth().oil_l == pytest.approx(before_l)


def test_ambient_and_battery_are_felt(make_unit: MakeUnit) -> None:
    """Cold air cools the oil slowly; volts change at once."""
    unit = make_unit()
    perform(unit, Act(name="ambient_c", value=-20.0))
    perform(unit, Act(name="battery_v", value=22.5))
    unit.advance(600.0)
    assert 15.0 < unit.climate.oil_c < 19.0
    assert unit.readings()["supply_voltage"] == pytest.approx(22.5, abs=0.1)


def test_limit_levers_are_held_pressed_and_let_go(make_unit: MakeUnit) -> None:
    """By hand at the switch: the contact follows the hand, and the valve again once it is let go."""
    unit = make_unit()
    for which, value, opened, closed in (
        ("closed", False, False, False),
        ("open", True, True, False),
        ("closed", "free", True, True),
        ("open", "free", False, True),
    ):
        perform(unit, Act(name="limit_lever", which=which, value=value))
        unit.advance(0.1)
        assert (unit.limits.open_made, unit.limits.closed_made) == (opened, closed)
    with pytest.raises(NotDone, match="expected open or closed"):
        perform(unit, Act(name="limit_lever", which="both", value=True))

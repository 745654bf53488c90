"""Values that an act takes, and the ones it refuses."""

import pytest

from commission.practice.acts import Act, NotDone, perform
from commission.practice.hydraulics import Hydraulics
from tests.practice.made import BDV, FCV, MakeUnit, unit_of


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
        (Act(name="other_master_orders", which="jump"), "open, close, stop"),
        (Act(name="other_master_orders", which="follow link"), "refuses"),
        (Act(name="other_master_sets", which="travel", value=1.0), "a setting of XV-1101"),
        (Act(name="other_master_sets", which="run_limit", value=0.0), "refuses"),
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


def test_a_calibrator_on_the_command_loop_moves_the_valve() -> None:
    """12 mA is half open; knife links open, there is no command, and the ESD loop is open too: it closes."""
    unit = unit_of(FCV, "closed")
    perform(unit, Act(name="command_signal", value=12.0))
    unit.advance(8.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.5)
    perform(unit, Act(name="loop_24v", value=False))
    unit.advance(8.0)
    assert unit.truth().travel_pct == pytest.approx(0.0, abs=0.01)
    assert unit.truth().tripped
    assert unit.side.command_now == 0.0


def test_a_pressure_difference_is_felt_in_the_cylinder() -> None:
    """The design difference on BDV-3307: 24 kN instead of 12 to break open, so it yields at less pressure."""
    yielding_bar = []
    for difference_bar in (0.0, 72.4):
        unit = unit_of(BDV, "closed")
        assert isinstance(unit.hydraulics, Hydraulics)
        perform(unit, Act(name="difference_bar", value=difference_bar))
        yielding_bar.append(unit.hydraulics.mechanism.yielding_pa(unit.hydraulics.rod_m) / 1e5)
    assert yielding_bar == pytest.approx([(40.0 - 12.0) / 0.7854, (40.0 - 24.0) / 0.7854], rel=0.001)


def test_the_heater_has_an_isolator_of_its_own() -> None:
    """Off and locked, the heater draws nothing however cold it is."""
    unit = unit_of(BDV, "open", oil_c=0.0)
    unit.advance(0.2)
    assert unit.truth().heater_w == 150.0
    perform(unit, Act(name="heater_isolator", value=False))
    unit.advance(0.2)
    assert unit.truth().heater_w == 0.0


def test_a_screw_shakes_loose_and_is_tightened(make_unit: MakeUnit) -> None:
    """The closed limit chatters, then no more."""
    unit = make_unit()
    seen = {}
    for name in ("loosen_closed_limit", "tighten_closed_limit"):
        perform(unit, Act(name=name))
        contacts = []
        for _ in range(200):
            unit.advance(0.02)
            contacts.append(unit.limits.closed_made)
        seen[name] = contacts.count(False)
    assert seen["loosen_closed_limit"] > 20
    assert seen["tighten_closed_limit"] <= 1


def test_both_sides_of_a_cylinder_are_bled_by_their_own_valves() -> None:
    """Driven against its seat, side A of FCV-2204 stands under pressure until BV-1 is opened; BV-2 does not help."""
    unit = unit_of(FCV, "open")
    perform(unit, Act(name="command_signal", value=4.0))
    unit.advance(12.0)
    assert unit.truth().pressure_bar > 50.0
    perform(unit, Act(name="bleed", which="BV-2", value=True))
    unit.advance(1.0)
    assert unit.truth().pressure_bar > 50.0
    perform(unit, Act(name="bleed", which="BV-1", value=True))
    unit.advance(1.0)
    assert unit.truth().pressure_bar < 0.1


def test_another_master_commands_and_sets(make_unit: MakeUnit) -> None:
    """Its OPEN is taken as the laptop's is; its setting is what the laptop reads next; in LOCAL it is refused."""
    unit = make_unit()
    perform(unit, Act(name="other_master_orders", which="open"))
    unit.advance(5.0)
    assert unit.truth().pump_on
    perform(unit, Act(name="other_master_sets", which="run_limit", value=600))
    perform(unit, Act(name="other_master_sets", which="trip_low", value=45.0))
    assert unit.readings()["run_limit"] == 600.0
    assert unit.readings()["trip_low"] == pytest.approx(45e5)
    perform(unit, Act(name="selector", value="LOCAL"))
    with pytest.raises(NotDone, match="selector in LOCAL"):
        perform(unit, Act(name="other_master_orders", which="close"))


def test_another_master_takes_the_command() -> None:
    """A modulating unit follows whoever has the link: 60 %, not the loop's 0 %."""
    unit = unit_of(FCV)
    for act in (
        Act(name="other_master_orders", which="follow link"),
        Act(name="other_master_sets", which="set_point", value=60),
    ):
        perform(unit, act)
    unit.advance(12.0)
    assert unit.readings()["follows_link"] == 1.0
    assert unit.truth().travel_pct == pytest.approx(60.0, abs=0.6)


def test_a_pulse_of_the_test_pump_comes_back_by_itself(make_unit: MakeUnit) -> None:
    """A second, or as long as is said."""
    unit = make_unit()
    perform(unit, Act(name="root_valve", value=False))
    perform(unit, Act(name="test_pump_bar", value=60.0))
    unit.advance(1.0)
    perform(unit, Act(name="test_pump_pulse", value=73.0, seconds=2.0))
    unit.advance(1.5)
    assert unit.side.sensing_bar == 73.0
    unit.advance(1.0)
    assert unit.side.sensing_bar == 60.0


def test_the_vent_is_slow(make_unit: MakeUnit) -> None:
    """2 bar a second, or as is said."""
    unit = make_unit()
    perform(unit, Act(name="root_valve", value=False))
    perform(unit, Act(name="vent_sensing_line"))
    unit.advance(10.0)
    assert unit.side.sensing_bar == pytest.approx(61.8 - 20.0, abs=0.1)


@pytest.mark.parametrize(("loop", "alarm"), [("open", "alarm_low_trip"), ("shorted", "alarm_high_trip")])
def test_a_fault_of_the_monitors_loop_trips(make_unit: MakeUnit, loop: str, alarm: str) -> None:
    """Far outside its range; whole again and reset it is gone."""
    unit = make_unit()
    perform(unit, Act(name="monitor_loop", value=loop))
    unit.advance(6.0)
    assert alarm in unit.truth().alarms
    perform(unit, Act(name="monitor_loop", value="whole"))
    unit.advance(0.1)
    perform(unit, Act(name="local_reset"))
    unit.advance(0.1)
    assert alarm not in unit.truth().alarms
    with pytest.raises(NotDone, match="whole, open, shorted"):
        perform(unit, Act(name="monitor_loop", value="cut"))

"""Every rule of the control unit, on the whole unit: cause it, see it act, clear it, reset it."""

import pytest

from commission.practice.orders import Order, Refused
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from tests.practice.made import MakeUnit, Until


def opening(unit: PracticeUnit, seconds: float = 30.0) -> None:
    """Command open and let it run."""
    unit.order(Order.OPEN, remote=True)
    unit.advance(seconds)


def test_stop_holds_an_opening(make_unit: MakeUnit) -> None:
    """The pump stops and trapped oil holds the valve where it is."""
    unit = make_unit()
    opening(unit)
    unit.order(Order.STOP, remote=True)
    unit.advance(0.5)
    at_pct = unit.truth().travel_pct
    unit.advance(120.0)
    assert at_pct > 10
    assert unit.truth().travel_pct == pytest.approx(at_pct, abs=0.01)
    assert not unit.truth().pump_on


def test_stop_holds_a_closing(make_unit: MakeUnit) -> None:
    """The dump valve shuts and the spring stroke stops where it is."""
    unit = make_unit("open")
    unit.order(Order.CLOSE, remote=True)
    unit.advance(3.0)
    unit.order(Order.STOP, remote=True)
    unit.advance(0.1)
    at_pct = unit.truth().travel_pct
    unit.advance(60.0)
    assert 40 < at_pct < 80
    assert unit.truth().travel_pct == pytest.approx(at_pct, abs=0.01)


@pytest.mark.parametrize("selector", ["LOCAL", "OFF"])
def test_remote_commands_need_remote(make_unit: MakeUnit, selector: str) -> None:
    """In LOCAL and OFF each remote command is refused and nothing of it is kept; STOP is taken."""
    unit = make_unit()
    SiteDesk(unit).act("selector", selector)
    for order in (Order.OPEN, Order.CLOSE, Order.RESET, Order.PARTIAL_STROKE):
        with pytest.raises(Refused, match=selector):
            unit.order(order, remote=True)
    unit.order(Order.STOP, remote=True)
    SiteDesk(unit).act("selector", "REMOTE")
    unit.advance(10.0)
    assert unit.truth().travel_pct == 0.0
    assert not unit.truth().pump_on


def test_leaving_remote_stops_an_opening(make_unit: MakeUnit) -> None:
    """OFF ends the movement, and coming back to REMOTE does not restart it."""
    unit = make_unit()
    opening(unit)
    SiteDesk(unit).act("selector", "OFF")
    unit.advance(1.0)
    at_pct = unit.truth().travel_pct
    SiteDesk(unit).act("selector", "REMOTE")
    unit.advance(30.0)
    assert unit.truth().travel_pct == pytest.approx(at_pct, abs=0.01)


def test_not_automatic_is_an_alarm(make_unit: MakeUnit) -> None:
    """LOCAL, and the hand pump's lever out, each alarm and drop the relay; both clear by themselves."""
    unit = make_unit()
    desk = SiteDesk(unit)
    for cause, cure in (
        (("selector", "LOCAL"), ("selector", "REMOTE")),
        (("hand_pump", 20.0), ("stow_hand_lever", None)),
    ):
        desk.act(*cause)
        unit.advance(0.1)
        assert unit.truth().alarms == ("alarm_not_automatic",)
        assert unit.readings()["alarm_relay"] == 0.0
        assert unit.readings()["automatic"] == 0.0
        desk.act(*cure)
        unit.advance(0.1)
        assert unit.truth().alarms == ()
        assert unit.readings()["alarm_relay"] == 1.0


def test_run_limit(make_unit: MakeUnit, until: Until) -> None:
    """With a bleed cracked the pump never reaches cut-out: off after 300 s, and off it stays until a reset."""
    unit = make_unit("open")
    SiteDesk(unit).act("bleed", 0.06, which="BV-1")
    until(unit, lambda truth: truth.pump_on)
    assert until(unit, lambda truth: not truth.pump_on) == pytest.approx(300.0, abs=0.1)
    assert "alarm_run_time" in unit.truth().alarms
    SiteDesk(unit).act("bleed", 0.0, which="BV-1")
    unit.advance(60.0)
    assert not unit.truth().pump_on
    unit.order(Order.RESET, remote=True)
    unit.advance(1.0)
    assert "alarm_run_time" not in unit.truth().alarms


def test_seventh_restart_is_refused(make_unit: MakeUnit) -> None:
    """Six restarts in 60 min are allowed, the seventh is refused with an alarm; after the window it may start again."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    starts = unit.starts_total
    for _ in range(8):
        desk.act("bleed", True, which="BV-2")
        unit.advance(0.3)
        desk.act("bleed", False, which="BV-2")
        unit.advance(20.0)
    assert unit.starts_total - starts == 6
    assert "alarm_starts" in unit.truth().alarms
    unit.advance(3600.0)
    assert unit.starts_total - starts == 7


def test_change_of_command_forgets_restarts(make_unit: MakeUnit, until: Until) -> None:
    """After close and open the count begins anew, and the commanded start itself is not counted."""
    unit = make_unit("open")
    for _ in range(3):
        unit.onboard.restarts.allow(unit.now_s)
    unit.order(Order.CLOSE, remote=True)
    until(unit, lambda truth: truth.closed_limit)
    opening(unit, 1.0)
    assert unit.truth().pump_on
    assert unit.onboard.restarts.count(unit.now_s) == 0


def test_top_up_between_cut_in_and_cut_out(make_unit: MakeUnit, until: Until) -> None:
    """The motor starts at 105 bar and stops at 125, in about three seconds."""
    unit = make_unit("open")
    SiteDesk(unit).act("bleed", True, which="BV-1")
    until(unit, lambda truth: truth.pump_on)
    assert unit.truth().pressure_bar == pytest.approx(105.0, abs=3.0)
    SiteDesk(unit).act("bleed", False, which="BV-1")
    until(unit, lambda truth: not truth.pump_on)
    assert unit.truth().pressure_bar == pytest.approx(125.0, abs=0.5)


def test_low_fluid_inhibits_the_pump_only(make_unit: MakeUnit, until: Until) -> None:
    """The float lifted: no pump, an alarm; the spring stroke stays free."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    desk.act("lift_float", True)
    desk.act("bleed", 0.06, which="BV-1")
    until(unit, lambda truth: truth.pressure_bar < 92)
    desk.act("bleed", 0.0, which="BV-1")
    unit.advance(5.0)
    assert not unit.truth().pump_on
    assert {"alarm_fluid", "alarm_low_pressure"} <= set(unit.truth().alarms)
    unit.order(Order.CLOSE, remote=True)
    assert until(unit, lambda truth: truth.closed_limit) < 9.0


def test_drawing_oil_off_makes_low_fluid(make_unit: MakeUnit) -> None:
    """Below 5.0 L in the tank the switch speaks."""
    unit = make_unit()
    SiteDesk(unit).act("draw_off_oil", 5.9)
    unit.advance(0.1)
    assert unit.readings()["low_fluid"] == 0.0
    SiteDesk(unit).act("draw_off_oil", 0.2)
    unit.advance(0.1)
    assert unit.readings()["low_fluid"] == 1.0


def test_end_of_travel_not_reached_opening(make_unit: MakeUnit, until: Until) -> None:
    """With the motor isolated: alarm 240 s after the command, pump off, and the reset moves nothing."""
    unit = make_unit()
    SiteDesk(unit).act("motor_isolator", False)
    unit.order(Order.OPEN, remote=True)
    assert until(unit, lambda truth: "alarm_travel" in truth.alarms) == pytest.approx(240.0, abs=0.1)
    SiteDesk(unit).act("motor_isolator", True)
    unit.order(Order.RESET, remote=True)
    unit.advance(5.0)
    assert unit.truth().travel_pct == 0.0
    assert unit.truth().alarms == ()


def test_end_of_travel_not_reached_closing(make_unit: MakeUnit, until: Until) -> None:
    """With friction that stops the spring: alarm after 15 s, and the dump valve stays open."""
    unit = make_unit("open", friction_factor=3.1)
    unit.order(Order.CLOSE, remote=True)
    assert until(unit, lambda truth: "alarm_travel" in truth.alarms) == pytest.approx(15.0, abs=0.1)
    assert unit.truth().dump_open


@pytest.mark.parametrize(
    ("cause", "cure"),
    [
        (("esd_button", True), ("esd_button", False)),
        (("loop_24v", False), ("loop_24v", True)),
        (("control_room_esd", True), ("control_room_esd", False)),
    ],
)
def test_esd_closes_and_latches(
    make_unit: MakeUnit, until: Until, cause: tuple[str, bool], cure: tuple[str, bool]
) -> None:
    """Any break of the loop closes the valve; stop does not stop it; it stays tripped until loop healthy and reset."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    desk.act(*cause)
    unit.advance(2.0)
    unit.order(Order.STOP, remote=True)
    until(unit, lambda truth: truth.closed_limit, 8.5)
    with pytest.raises(Refused, match="loop"):
        unit.order(Order.RESET, remote=True)
    desk.act(*cure)
    unit.advance(1.0)
    assert unit.readings()["esd_healthy"] == 0.0
    with pytest.raises(Refused, match="reset first"):
        unit.order(Order.OPEN, remote=True)
    unit.order(Order.RESET, remote=True)
    unit.advance(5.0)
    assert unit.truth().travel_pct == 0.0
    assert unit.readings()["esd_healthy"] == 1.0
    opening(unit, 5.0)
    assert unit.truth().travel_pct > 1.0


def test_esd_acts_in_every_selector_position(make_unit: MakeUnit, until: Until) -> None:
    """OFF does not take the ESD away."""
    unit = make_unit("open")
    SiteDesk(unit).act("selector", "OFF")
    SiteDesk(unit).act("esd_button", True)
    assert until(unit, lambda truth: truth.closed_limit) < 8.5


def test_partial_stroke_is_refused_away_from_open(make_unit: MakeUnit) -> None:
    """Closed, or with an alarm, there is no partial stroke."""
    with pytest.raises(Refused, match="not open"):
        make_unit().order(Order.PARTIAL_STROKE, remote=True)
    unit = make_unit("open")
    SiteDesk(unit).act("hand_pump", 0.0)
    unit.advance(0.1)
    with pytest.raises(Refused, match="alarm"):
        unit.order(Order.PARTIAL_STROKE, remote=True)


def test_partial_stroke_guard_by_time(make_unit: MakeUnit, until: Until) -> None:
    """With the bleed path nearly shut the target is not reached in 20 s: the unit turns round and alarms."""
    unit = make_unit("open", orifice_factor=0.4)
    unit.order(Order.PARTIAL_STROKE, remote=True)
    assert until(unit, lambda truth: truth.partial_phase == "back") == pytest.approx(20.0, abs=0.1)
    assert unit.truth().travel_pct > 80
    assert "alarm_travel" in unit.truth().alarms
    until(unit, lambda truth: truth.open_limit)


def test_partial_stroke_comes_back_when_local_is_taken(make_unit: MakeUnit, until: Until) -> None:
    """The selector leaving REMOTE turns it round early."""
    unit = make_unit("open")
    unit.order(Order.PARTIAL_STROKE, remote=True)
    unit.advance(6.0)
    SiteDesk(unit).act("selector", "LOCAL")
    unit.advance(0.1)
    assert unit.truth().partial_phase == "back"
    assert unit.truth().travel_pct > 90
    until(unit, lambda truth: truth.open_limit)


def test_esd_wins_over_a_partial_stroke(make_unit: MakeUnit, until: Until) -> None:
    """A real demand goes on to closed."""
    unit = make_unit("open")
    unit.order(Order.PARTIAL_STROKE, remote=True)
    unit.advance(6.0)
    SiteDesk(unit).act("esd_button", True)
    assert until(unit, lambda truth: truth.closed_limit) < 8.5


def test_supply_alarm_ignores_the_start_dip(make_unit: MakeUnit) -> None:
    """A start does not alarm; a battery at 21 V does."""
    unit = make_unit()
    opening(unit, 5.0)
    assert "alarm_supply" not in unit.truth().alarms
    SiteDesk(unit).act("battery_v", 21.0)
    unit.advance(3.0)
    assert "alarm_supply" in unit.truth().alarms


def test_lost_contact_holds_and_alarms(make_unit: MakeUnit) -> None:
    """Ten seconds of silence on the link drop the relay; the valve holds; contact brings it back."""
    unit = make_unit("open")
    unit.link_silent_s = 9.9
    unit.advance(0.1)
    assert unit.readings()["alarm_relay"] == 1.0
    unit.link_silent_s = 10.1
    unit.advance(0.1)
    assert unit.readings()["alarm_relay"] == 0.0
    assert unit.truth().travel_pct == 100.0
    unit.link_silent_s = 0.1
    unit.advance(0.1)
    assert unit.readings()["alarm_relay"] == 1.0


def test_lost_power_closes_and_its_return_moves_nothing(make_unit: MakeUnit, until: Until) -> None:
    """Control supply off: the spring closes; back on: closed until commanded."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    desk.act("control_supply", False)
    assert until(unit, lambda truth: truth.closed_limit) == pytest.approx(8.0, rel=0.03)
    desk.act("control_supply", True)
    unit.advance(60.0)
    assert unit.truth().travel_pct == 0.0
    assert not unit.truth().pump_on
    opening(unit, 5.0)
    assert unit.truth().travel_pct > 1.0

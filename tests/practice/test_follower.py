"""FCV-2204 by its control unit: following, holding, emergency, pump (trade guide 10.1 and 10.3)."""

from itertools import pairwise

import pytest

from commission.practice.follower import percent_of
from commission.practice.orders import Order, Refused, Selector
from commission.practice.unit import PracticeUnit
from commission.sheet.modulating import Signal
from tests.practice.made import FCV, PCV, unit_of, wait


def at(percent: float, **condition: object) -> PracticeUnit:
    """A unit that has followed its loop to a travel, and stands."""
    unit = unit_of(FCV, "closed", 7, **condition)
    if percent:
        unit.side.command_signal = 4.0 + 0.16 * percent
        unit.advance(20.0)
    return unit


def test_signals_stand_for_travel() -> None:
    """4 to 20 mA, and reversed: 4 mA is open; beyond the ends it stays at the end."""
    plain, turned = Signal(unit="mA", at_closed=4.0, at_open=20.0), Signal(unit="mA", at_closed=20.0, at_open=4.0)
    assert (percent_of(plain, 12.0), percent_of(turned, 8.0)) == (50.0, 75.0)
    assert (percent_of(plain, 3.8), percent_of(plain, 20.5)) == (0.0, 100.0)


def test_step_response() -> None:
    """A 10 % step: dead time 0.3 s, 86 % of it after 1.0 s, no overshoot, at rest within the dead band."""
    unit = at(50.0)
    start_pct = unit.truth().travel_pct
    unit.side.command_signal = 13.6
    dead_s = wait(unit, lambda truth: truth.travel_pct > start_pct + 0.05, step_s=0.01)
    t86_s = dead_s + wait(unit, lambda truth: truth.travel_pct >= start_pct + 8.6, step_s=0.01)
    highest = 0.0
    for _ in range(500):
        unit.advance(0.01)
        highest = max(highest, unit.truth().travel_pct)
    assert dead_s == pytest.approx(0.3, abs=0.03)
    assert t86_s == pytest.approx(1.0, rel=0.03)
    assert highest <= 60.0 + 0.2
    assert unit.truth().travel_pct == pytest.approx(60.0, abs=0.5)


def test_the_dead_band_moves_nothing() -> None:
    """0.4 % more, then 0.8 % less: nothing, then motion."""
    unit = at(50.0)
    here_pct = unit.truth().travel_pct
    unit.side.command_signal = 4.0 + 0.16 * (here_pct + 0.4)
    unit.advance(5.0)
    assert unit.truth().travel_pct == pytest.approx(here_pct, abs=1e-6)
    unit.side.command_signal = 4.0 + 0.16 * (here_pct - 0.8)
    unit.advance(5.0)
    assert unit.truth().travel_pct < here_pct - 0.3


@pytest.mark.parametrize("command_ma", [3.5, 0.0, 21.5])
def test_a_lost_signal_holds_after_two_seconds(command_ma: float) -> None:
    """Below 3.6 mA or above 21 for 2 s: it holds where it is and alarms; the signal back, it follows."""
    unit = at(50.0)
    unit.side.command_signal = command_ma
    unit.advance(1.9)
    assert "alarm_signal_lost" not in unit.truth().alarms
    unit.advance(0.3)
    assert "alarm_signal_lost" in unit.truth().alarms
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.5)
    unit.side.command_signal = 13.6
    unit.advance(5.0)
    assert unit.truth().travel_pct == pytest.approx(60.0, abs=0.5)
    assert unit.truth().alarms == ()


@pytest.mark.parametrize("command_ma", [3.8, 20.5])
def test_over_and_under_range_are_followed(command_ma: float) -> None:
    """3.8 and 20.5 mA are the ends, not a fault (NE 43 levels, from memory)."""
    unit = at(50.0)
    unit.side.command_signal = command_ma
    unit.advance(12.0)
    assert unit.truth().travel_pct == pytest.approx(0.0 if command_ma < 4 else 100.0, abs=0.01)
    assert unit.truth().alarms == ()


def test_emergency_stroke_without_the_pump() -> None:
    """Wide open, motor isolated: closed within 10 s; it stays tripped until reset, and the reset moves nothing."""
    unit = at(100.0)
    unit.side.motor_isolator = False
    unit.side.control_room_esd = True
    assert wait(unit, lambda truth: truth.closed_limit, limit_s=10.0) == pytest.approx(8.0, abs=0.3)
    unit.side.control_room_esd = False
    unit.advance(1.0)
    assert unit.truth().tripped
    unit.order(Order.RESET, remote=True)
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(0.0, abs=0.01)
    unit.side.command_signal = 12.0
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.5)


def test_the_esd_test_is_ordered_over_the_link() -> None:
    """As the loop does it; refused while tripped, and a reset is refused while the loop is open."""
    unit = at(50.0)
    unit.order(Order.ESD_TEST, remote=True)
    wait(unit, lambda truth: truth.closed_limit, limit_s=10.0)
    with pytest.raises(Refused, match="reset first"):
        unit.order(Order.ESD_TEST, remote=True)
    unit.side.esd_button_pressed = True
    with pytest.raises(Refused, match="ESD loop open"):
        unit.order(Order.RESET, remote=True)


def test_stop_holds_until_the_command_changes() -> None:
    """STOP in mid-stroke: it stands although the loop still asks for open."""
    unit = at(0.0)
    unit.side.command_signal = 20.0
    unit.advance(3.0)
    unit.order(Order.STOP, remote=True)
    here_pct = unit.truth().travel_pct
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(here_pct, abs=0.3)
    unit.side.command_signal = 18.0
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(87.5, abs=0.5)


def test_the_link_takes_the_command_and_hands_it_back() -> None:
    """A set point alone moves nothing; handed the command it is followed; handed back, the loop is."""
    unit = at(50.0)
    unit.command_to(55.0)
    unit.advance(5.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.5)
    unit.order(Order.FOLLOW_LINK, remote=True)
    unit.advance(5.0)
    assert unit.truth().travel_pct == pytest.approx(55.0, abs=0.5)
    assert unit.readings()["follows_link"] == 1.0
    unit.order(Order.FOLLOW_LOOP, remote=True)
    unit.advance(5.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.5)


def test_in_local_the_link_is_refused_and_nothing_is_kept() -> None:
    """A set point in LOCAL is refused; the panel moves it; back in REMOTE it stands."""
    unit = at(50.0)
    unit.side.selector = Selector.LOCAL
    unit.advance(0.1)
    with pytest.raises(Refused, match="LOCAL"):
        unit.command_to(80.0)
    with pytest.raises(Refused):
        unit.order(Order.OPEN, remote=True)
    unit.order(Order.OPEN, remote=False)
    unit.advance(12.0)
    assert unit.truth().travel_pct == pytest.approx(100.0, abs=0.01)
    unit.side.selector = Selector.REMOTE
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(100.0, abs=0.01)
    with pytest.raises(ValueError, match="0 to 100"):
        unit.command_to(101.0)


def test_power_gone_holds_and_its_return_moves_nothing() -> None:
    """In mid-stroke: the valve stands, and stands when power is back."""
    unit = at(0.0)
    unit.side.command_signal = 20.0
    unit.advance(3.0)
    unit.side.control_supply = False
    unit.advance(5.0)
    here_pct = unit.truth().travel_pct
    unit.side.control_supply = True
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(here_pct, abs=0.01)
    assert 5.0 < here_pct < 50.0


def test_a_deviation_alarms_after_its_time() -> None:
    """The stem blocked by ten times the load: 5 % apart for 15 s."""
    unit = at(50.0, friction_factor=20.0)
    unit.side.command_signal = 16.0
    assert wait(unit, lambda truth: "alarm_deviation" in truth.alarms, limit_s=20.0) < 17.0


def test_low_fluid_stops_the_pump_and_not_the_emergency_stroke() -> None:
    """The float lifted: no pump, an alarm, and ESD still closes it."""
    unit = at(100.0)
    unit.side.float_lifted = True
    unit.side.control_room_esd = True
    wait(unit, lambda truth: truth.closed_limit, limit_s=10.0)
    assert "alarm_fluid" in unit.truth().alarms
    assert not unit.truth().pump_on


def test_a_reversed_rotation_makes_no_pressure() -> None:
    """The motor runs, no oil comes: run-time alarm after 60 s (trade guide 3.4, 23); only warming gas adds a little."""
    unit = at(0.0, phases_reversed=True)
    unit.side.bleeds["BV-3"] = 1.0
    wait(unit, lambda truth: truth.pump_on, limit_s=60.0)
    unit.side.bleeds["BV-3"] = 0.0
    wait(unit, lambda truth: "alarm_run_time" in truth.alarms, limit_s=65.0)
    assert unit.truth().system_bar < 90.0
    assert not unit.truth().pump_on


def test_too_small_a_dead_band_hunts() -> None:
    """Stops late with a dead band of 0.1 %: it never comes to rest (trade guide 3.4, 45)."""
    unit = at(50.0, dead_band_pct=0.1, overshoots=True)
    travels = []
    for _ in range(600):
        unit.advance(0.05)
        travels.append(unit.truth().travel_pct)
    ways = [later - earlier for earlier, later in pairwise(travels) if later != earlier]
    assert max(travels) - min(travels) > 1.0
    assert sum(first * second < 0 for first, second in pairwise(ways)) > 8


def test_a_unit_commanded_by_voltage() -> None:
    """PCV-4410, 2 to 10 V over a rack and gear: 6.0 s each way, 50 % at 6 V, holding below 1 V."""
    unit = unit_of(PCV, "closed")
    unit.side.command_signal = 10.0
    wait(unit, lambda truth: truth.travel_pct > 0.05)
    assert wait(unit, lambda truth: truth.travel_pct > 99.99) == pytest.approx(6.0, rel=0.02)
    unit.side.command_signal = 6.0
    unit.advance(8.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.6)
    unit.side.command_signal = 0.5
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(50.0, abs=0.6)
    assert "alarm_signal_lost" in unit.truth().alarms


def test_without_an_emergency_end_it_holds() -> None:
    """The stop loop open: it stands where it is; closed again and reset, it stands until the command changes."""
    unit = unit_of(PCV, "closed")
    unit.side.command_signal = 10.0
    unit.advance(3.0)
    unit.side.esd_button_pressed = True
    unit.advance(0.1)
    here_pct = unit.truth().travel_pct
    unit.advance(30.0)
    assert unit.truth().travel_pct == pytest.approx(here_pct, abs=0.2)
    assert unit.truth().tripped
    assert "alarm_travel" not in unit.truth().alarms
    unit.side.esd_button_pressed = False
    unit.order(Order.RESET, remote=False)
    unit.advance(10.0)
    assert unit.truth().travel_pct == pytest.approx(here_pct, abs=0.2)

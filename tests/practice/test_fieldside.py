"""Positions on site and what follows from them."""

import pytest

from commission.practice.condition import HEALTHY
from commission.practice.fieldside import FieldSide, field_side


def site() -> FieldSide:
    """As run."""
    return field_side(["BV-1", "BV-2"], HEALTHY)


def test_as_run() -> None:
    """Everything on, everything shut."""
    side = site()
    assert side.control_on
    assert side.motor_on
    assert side.esd_loop
    assert side.bleeds == {"BV-1": 0.0, "BV-2": 0.0}


def test_control_lives_on_battery_or_array() -> None:
    """The array alone keeps the control unit alive: seven sources, not six."""
    side = site()
    side.battery_isolator = False
    assert side.control_on
    assert not side.motor_on
    side.array_isolator = False
    assert not side.control_on


@pytest.mark.parametrize("name", ["esd_button_pressed", "control_room_esd"])
def test_either_breaks_the_loop(name: str) -> None:
    """Button or control room."""
    side = site()
    setattr(side, name, True)
    assert not side.esd_loop


def test_sensing_line_follows_the_pipeline_until_shut_off() -> None:
    """Root valve shut, it keeps its pressure; vented, it falls; open again, it is the pipeline's."""
    side = site()
    side.root_valve = False
    side.pipeline_bar = 65.0
    side.step(1.0)
    assert side.sensing_bar == 61.8
    side.sensing_target_bar, side.sensing_rate_bar_s = 0.0, 20.0
    side.step(1.0)
    assert side.sensing_bar == pytest.approx(41.8)
    side.root_valve = True
    side.step(1.0)
    assert side.sensing_bar == 65.0


def test_the_monitor_takes_a_broken_loop_for_a_pressure() -> None:
    """0 and 22 mA on 0 to 100 bar; whole, what the line has and its transmitter adds."""
    side = site()
    side.monitor_off_bar = 0.5
    assert side.monitored_bar == pytest.approx(side.sensing_bar + 0.5)
    side.monitor_loop = "open"
    assert side.monitored_bar == -25.0
    side.monitor_loop = "shorted"
    assert side.monitored_bar == 112.5

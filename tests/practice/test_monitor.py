"""The pressure monitor: trip points, delays, latch and its one reset."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.acts import NotDone
from commission.practice.condition import HEALTHY
from commission.practice.monitor import PressureMonitor
from commission.practice.orders import Order, Refused
from commission.practice.settings import settings_of
from commission.practice.site import SiteDesk
from commission.sheet import Sheet
from tests.practice.made import SHEET, MakeUnit, Until

SCAN_S = 0.02


def seconds_to_trip(monitor: PressureMonitor, bar: float, limit_s: float = 20.0) -> float | None:
    """Seconds until a constant pressure latches a trip, or None."""
    for number in range(1, round(limit_s / SCAN_S)):
        monitor.scan(SCAN_S, bar * 1e5)
        if monitor.latched:
            return number * SCAN_S
    return None


@pytest.mark.parametrize(
    ("bar", "delay_s"), [(70.0, 3.0), (85.0, 3.0), (50.0, 5.0), (0.0, 5.0), (69.9, None), (50.1, None)]
)
def test_trip_points_and_delays(sheet: Sheet, bar: float, delay_s: float | None) -> None:
    """High at 70.0 bar after 3.0 s, low at 50.0 bar after 5.0 s, nothing in between (trade guide 10.1)."""
    found = seconds_to_trip(PressureMonitor(settings_of(sheet, HEALTHY)), bar)
    assert found == (None if delay_s is None else pytest.approx(delay_s, abs=2 * SCAN_S))


def test_pulse_shorter_than_the_delay_does_not_trip(sheet: Sheet) -> None:
    """Two pulses of 2 s do not add up to 3 s."""
    monitor = PressureMonitor(settings_of(sheet, HEALTHY))
    for _ in range(2):
        for _ in range(100):
            monitor.scan(SCAN_S, 75e5)
        monitor.scan(SCAN_S, 60e5)
    assert not monitor.latched


@given(st.lists(st.floats(50.1, 69.9), max_size=300))
def test_never_trips_inside_its_points(bars: list[float]) -> None:
    """No path between the two trip points trips."""
    monitor = PressureMonitor(settings_of(SHEET, HEALTHY))
    for bar in bars:
        monitor.scan(SCAN_S, bar * 1e5)
    assert not monitor.latched


def test_trip_closes_the_valve_and_is_reset_at_the_unit_only(make_unit: MakeUnit, until: Until) -> None:
    """Remote reset and open refused, local reset refused while pressure is bad, power cycle keeps it; then reset."""
    unit = make_unit("open")
    desk = SiteDesk(unit)
    desk.act("root_valve", False)
    desk.act("test_pump_bar", 72.0)
    until(unit, lambda truth: truth.closed_limit, 12.0)
    assert unit.truth().alarms == ("alarm_high_trip",)
    with pytest.raises(NotDone, match="beyond the trip point"):
        desk.act("local_reset")
    desk.act("test_pump_bar", 60.0)
    unit.advance(1.0)
    with pytest.raises(Refused, match="at the unit only"):
        unit.order(Order.RESET, remote=True)
    with pytest.raises(Refused, match="reset first"):
        unit.order(Order.OPEN, remote=True)
    desk.act("control_supply", False)
    unit.advance(5.0)
    desk.act("control_supply", True)
    unit.advance(5.0)
    assert unit.truth().tripped
    desk.act("local_reset")
    unit.advance(5.0)
    assert not unit.truth().tripped
    assert unit.truth().travel_pct == 0.0


def test_planted_low_trip_delay(sheet: Sheet, make_unit: MakeUnit) -> None:
    """The finding of the guide: 0.5 s instead of 5.0 trips on a pulse of one second."""
    unit = make_unit("open", low_trip_delay_s=0.5)
    desk = SiteDesk(unit)
    desk.act("root_valve", False)
    desk.act("test_pump_bar", 45.0)
    unit.advance(1.0)
    desk.act("test_pump_bar", 60.0)
    unit.advance(0.1)
    assert unit.truth().alarms == ("alarm_low_trip",)


def test_ramp_of_the_test_pump(make_unit: MakeUnit) -> None:
    """A ramp of 0.5 bar/s goes half a bar a second, and the trip follows at 70 bar and 3 s more."""
    unit = make_unit()
    desk = SiteDesk(unit)
    desk.act("root_valve", False)
    desk.act("test_pump_bar", 75.0, rate_bar_s=0.5)
    unit.advance(10.0)
    assert unit.side.sensing_bar == pytest.approx(61.8 + 5.0, abs=0.02)
    while not unit.truth().tripped:
        unit.advance(0.02)
    assert unit.side.sensing_bar == pytest.approx(70.0 + 3.0 * 0.5, abs=0.03)

"""Abort conditions: each trips on its own reading, and only then."""

import msgspec
import pytest

from commission.procedures.guards import (
    GuardSet,
    MotorRun,
    PressureBelow,
    WrongWay,
    bit_is,
    nearness,
    stroke_guards,
)
from commission.procedures.requests import Tripped
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET


def reading(at_s: float = 0.0, **values: float) -> Readings:
    """One sample with these values."""
    at_ns = round(at_s * 1e9)
    return Readings(1, at_ns, {role: Reading(value, at_ns, 0) for role, value in values.items()})


def healthy(**changed: float) -> Readings:
    """A sample of a unit in order, with what differs."""
    alarms = {p.role: 0.0 for p in SHEET.points if p.role.startswith("alarm_") and p.role != "alarm_relay"}
    values = {
        "travel": 1.0, "cylinder_pressure": 53e5, "motor_running": 0.0, "remote": 1.0, "automatic": 1.0,
        "esd_healthy": 1.0, "low_fluid": 0.0, **alarms, **changed,
    }  # fmt: skip
    return reading(**values)


def tripped(guards: GuardSet, readings: Readings) -> dict[str, Tripped]:
    """Every guard that trips, by name."""
    found = {name: guard(readings) for name, guard in guards.guards.items()}
    return {name: trip for name, trip in found.items() if trip is not None}


def test_nothing_trips_on_a_healthy_unit() -> None:
    """A unit in order passes every guard."""
    assert tripped(stroke_guards(SHEET, End.CLOSED), healthy()) == {}


@pytest.mark.parametrize(
    ("changed", "trip"),
    [
        ({"esd_healthy": 0.0}, Tripped("ESD loop: tripped", taken_over=True)),
        ({"remote": 0.0}, Tripped("selector: local or off", taken_over=True)),
        ({"automatic": 0.0}, Tripped("automatic: not in automatic", taken_over=True)),
        ({"alarm_high_trip": 1.0}, Tripped("high pressure trip: active", taken_over=True)),
        ({"alarm_low_trip": 1.0}, Tripped("low pressure trip: active", taken_over=True)),
        ({"alarm_fluid": 1.0}, Tripped("low fluid alarm: active")),
        ({"alarm_run_time": 1.0}, Tripped("motor ran too long: active")),
        ({"low_fluid": 1.0}, Tripped("fluid: low")),
        ({"cylinder_pressure": 155e5}, Tripped("cylinder pressure 155.0 bar, above 154.0 bar")),
    ],
)
def test_r10_each_condition_trips_its_own_guard(changed: dict[str, float], trip: Tripped) -> None:
    """One reading out of order trips one guard; a valve that is somebody else's is never sent anything."""
    trips = tripped(stroke_guards(SHEET, End.CLOSED), healthy(**changed))
    assert list(trips.values()) == [trip]


def test_low_hydraulic_pressure_is_no_reason_to_abort() -> None:
    """A closed spring-return unit rests at low pressure; that alarm does not stop its stroke."""
    assert tripped(stroke_guards(SHEET, End.OPEN), healthy(alarm_low_pressure=1.0)) == {}


def test_a_missing_point_is_said() -> None:
    """A guard without its point is not installed, and the sentence names the point."""
    points = tuple(point for point in SHEET.points if point.role not in ("remote", "low_fluid"))
    guards = stroke_guards(msgspec.structs.replace(SHEET, points=points), End.OPEN)
    assert "selector" not in guards.guards
    assert guards.missing == (
        "guard 'selector' is not installed: the unit has no point for selector",
        "guard 'fluid' is not installed: the unit has no point for fluid",
    )
    assert "remote" not in guards.roles


def test_a_sample_that_does_not_read_a_point_trips_nothing() -> None:
    """No reading is not a bad reading; silence is the supervisor's to judge."""
    assert tripped(stroke_guards(SHEET, End.OPEN), reading()) == {}


@pytest.mark.parametrize(("direction", "ok", "back"), [(End.OPEN, 0.4, 0.3), (End.CLOSED, 0.6, 0.7)])
def test_travel_going_back_trips_at_the_second_sample(direction: End, ok: float, back: float) -> None:
    """One sample back may be noise; two in a row are the wrong way."""
    guard = WrongWay(direction)
    assert guard(reading(travel=ok)) is None
    assert guard(reading(travel=back)) is None
    found = guard(reading(travel=back))
    assert found is not None
    assert f"{back * 100:.1f} %" in found.reason


def test_one_noisy_sample_is_forgiven() -> None:
    """A spike between two good samples does not abort."""
    guard = WrongWay(End.OPEN)
    values = (0.1, 0.2, 0.05, 0.3, 0.1, 0.4)
    assert [guard(reading(travel=value)) for value in values] == [None] * len(values)


def test_motor_run_counts_from_its_last_start() -> None:
    """Only an unbroken run longer than the limit trips."""
    guard = MotorRun(10.0)
    runs = [(0.0, 1.0), (9.0, 1.0), (9.5, 0.0), (10.0, 1.0), (19.9, 1.0)]
    assert [guard(reading(at, motor_running=on)) for at, on in runs] == [None] * 5
    assert guard(reading(20.5, motor_running=1.0)) == Tripped("motor has run 10 s, limit 10 s")


def test_pressure_at_its_limit_is_in_order() -> None:
    """The limit itself does not trip."""
    assert PressureBelow("cylinder_pressure", 1e7)(reading(cylinder_pressure=1e7)) is None


def test_a_bit_guard_needs_a_bit() -> None:
    """A guard on a number is a mistake of the program and said at once."""
    with pytest.raises(ValueError, match="travel is not a bit"):
        bit_is("travel", wanted=True)


def test_a_guard_with_a_limit_says_how_near_it_is() -> None:
    """Pressure, run time and travel that goes back, each beside its limit; a bit has no limit to be near to."""
    pressure, motor, way = PressureBelow("cylinder_pressure", 154e5), MotorRun(240.0), WrongWay(End.OPEN)
    assert nearness(pressure, reading(cylinder_pressure=53.2e5)) == "53 of 154 bar"
    begun, seen = (reading(at_s, motor_running=1.0, travel=share) for at_s, share in ((0.0, 0.30), (12.0, 0.288)))
    for readings in (begun, seen):
        assert motor(readings) is None
        assert way(readings) is None
    assert nearness(motor, seen) == "12 of 240 s"
    assert nearness(way, seen) == "back 1.2 of 5 %"
    assert nearness(bit_is("remote", wanted=True), seen) == ""


def test_what_is_not_read_is_near_nothing() -> None:
    """Without its point a guard says nothing rather than zero; a motor that stands has run for 0 s."""
    for guard in (PressureBelow("cylinder_pressure", 1e7), MotorRun(10.0), WrongWay(End.CLOSED)):
        assert nearness(guard, reading()) == ""
    assert nearness(MotorRun(10.0), reading(5.0, motor_running=0.0)) == "0 of 10 s"

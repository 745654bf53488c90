"""The aborts of a partial stroke, each by its own reading; 7 and 11 are the supervisor's."""

import msgspec
import pytest

from commission.procedures.guards import GuardSet, nearness
from commission.procedures.partial_guards import (
    CURRENT,
    FAILING,
    LATE_HOME,
    LATE_RETURN,
    LATE_TARGET,
    LINE,
    NO_MOTION,
    PRESSURE_HIGH,
    PRESSURE_LOW,
    TOO_FAR,
    TOO_FAST,
    Phase,
    Progress,
    partial_guards,
)
from commission.procedures.partial_told import Told
from commission.procedures.requests import Tripped
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.sheet.model import PartialStroke
from tests.analysis.seen import SHEET

assert SHEET.partial_stroke is not None
PLAN: PartialStroke = SHEET.partial_stroke
TOLD = Told(test="L2 1", line_change_bar=2.0)


def reading(at_s: float = 0.0, **changed: float) -> Readings:
    """A sample of a unit in order, with what differs."""
    alarms = {p.role: 0.0 for p in SHEET.points if p.role.startswith("alarm_") and p.role != "alarm_relay"}
    values = {
        "travel": 0.95, "cylinder_pressure": 50e5, "motor_running": 0.0, "motor_current": 0.0, "remote": 1.0,
        "automatic": 1.0, "esd_healthy": 1.0, "alarm_relay": 1.0, "low_fluid": 0.0, "pipeline_pressure": 61.8e5,
        **alarms, **changed,
    }  # fmt: skip
    at_ns = round(at_s * 1e9)
    return Readings(1, at_ns, {role: Reading(value, at_ns, 0) for role, value in values.items()})


def installed(phase: Phase = Phase.OUT, told: Told = TOLD) -> tuple[GuardSet, Progress]:
    """The guards of a stroke that began at 0 s."""
    progress = Progress(End.OPEN, 0.15)
    progress.enter(phase, 0)
    progress.line_pa = 61.8e5
    return partial_guards(SHEET, PLAN, told, progress), progress


def trips(samples: list[Readings], phase: Phase = Phase.OUT) -> dict[str, Tripped]:
    """Every guard that trips on these samples, by name."""
    guards, _ = installed(phase)
    found: dict[str, Tripped] = {}
    for sample in samples:
        for name, guard in guards.guards.items():
            tripped = guard(sample)
            if tripped is not None:
                found[name] = tripped
    return found


def test_nothing_trips_on_a_healthy_stroke() -> None:
    """Out for three seconds and a half, at its speed."""
    assert trips([reading(at, travel=1 - 0.014 * at) for at in (0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5)]) == {}


@pytest.mark.parametrize(
    ("name", "samples", "phase", "words"),
    [
        (TOO_FAR, [reading(12, travel=0.82)], Phase.OUT, "travel 18.0 % from its end, limit 17.5 %"),
        (NO_MOTION, [reading(5.1, travel=1.0)], Phase.OUT, "no motion within 5.0 s"),
        (LATE_TARGET, [reading(20.1, travel=0.87)], Phase.OUT, "target not reached"),
        (PRESSURE_LOW, [reading(3, cylinder_pressure=4e5)], Phase.OUT, "4.0 bar, below 5.0 bar"),
        (PRESSURE_HIGH, [reading(3, cylinder_pressure=155e5)], Phase.BACK, "above 154.0 bar"),
        (CURRENT, [reading(at, motor_current=31.0) for at in (1, 1.5, 2.1)], Phase.BACK, "31.0 A, above 29.4 A"),
        (TOO_FAST, [reading(1, travel=0.99), reading(1.5, travel=0.973)], Phase.OUT, "3.00 %/s, limit 2.25 %/s"),
        (LATE_RETURN, [reading(11, travel=0.85), reading(16.1, travel=0.85)], Phase.OUT, "return not begun"),
        (LATE_HOME, [reading(42.1, travel=0.9)], Phase.BACK, "VALVE UNAVAILABLE"),
        (LINE, [reading(3, pipeline_pressure=59.7e5)], Phase.OUT, "-2.1 bar, agreed 2.0 bar"),
    ],
    ids=lambda value: value if isinstance(value, str) and value[:1].isdigit() else "",
)
def test_each_abort_trips_on_its_own(name: str, samples: list[Readings], phase: Phase, words: str) -> None:
    """And names the reading and its limit; the valve stays ours."""
    found = trips(samples, phase)
    assert set(found) == {name}
    assert words in found[name].reason
    assert not found[name].taken_over


@pytest.mark.parametrize(
    "changed",
    [
        {"esd_healthy": 0.0}, {"remote": 0.0}, {"automatic": 0.0}, {"alarm_relay": 0.0}, {"low_fluid": 1.0},
        {"alarm_high_trip": 1.0}, {"alarm_travel": 1.0}, {"alarm_supply": 1.0},
    ],
    ids=lambda changed: next(iter(changed)),
)  # fmt: skip
def test_r22_number_eight_and_any_real_demand_take_the_valve_over(changed: dict[str, float]) -> None:
    """Then nothing is sent."""
    found = trips([reading(3, **changed)])
    assert found
    assert all(name.startswith("8 ") and trip.taken_over for name, trip in found.items())
    assert not set(found) & FAILING


def test_a_motor_that_is_only_starting_is_within_its_band() -> None:
    """Sixty amperes for a fifth of a second."""
    assert trips([reading(at, motor_current=60.0) for at in (1.0, 1.1, 1.2)], Phase.BACK) == {}


def test_unsure_times_of_readings_are_not_speed() -> None:
    """Two readings half a second apart, each known to a fifth of a second: 2.6 %/s may have been 1.2."""
    guards, _ = installed()
    speed = guards.guards[TOO_FAST]

    def unsure(at_s: float, travel: float) -> Readings:
        at_ns = round(at_s * 1e9)
        return Readings(1, at_ns, {"travel": Reading(travel, at_ns, 200_000_000)})

    assert speed(unsure(1.0, 0.99)) is None
    assert speed(unsure(1.5, 0.977)) is None


def test_a_guard_without_its_point_is_missed_aloud() -> None:
    """The sentence names the point."""
    bare = msgspec.structs.replace(SHEET, points=tuple(p for p in SHEET.points if p.role != "pipeline_pressure"))
    found = partial_guards(bare, PLAN, TOLD, Progress(End.OPEN, 0.15))
    assert found.missing == ("guard '12 line pressure' is not installed: the unit has no point for pipeline pressure",)


def test_how_near_each_limit_is_can_be_shown() -> None:
    """In the trade's units."""
    guards, _ = installed()
    before, sample = (reading(at_s, travel=1 - 0.01 * at_s) for at_s in (1.0, 1.5))
    for guard in guards.guards.values():
        guard(before)
        guard(sample)
    shown = {name: nearness(guard, sample) for name, guard in guards.guards.items()}
    assert shown[TOO_FAR] == "1.5 of 17.5 %"
    assert shown[TOO_FAST] == "1.0 of 2.2 %/s"
    assert shown[LATE_TARGET] == "2 of 19 s"
    assert shown[LINE] == "0.0 of 2.0 bar"
    assert shown[PRESSURE_LOW] == "50, not below 5 bar"
    assert shown[CURRENT] == "0 of 29 A"


def test_a_valve_that_leaves_its_closed_end_is_counted_from_there() -> None:
    """For one that fails open."""
    progress = Progress(End.CLOSED, 0.15)
    assert progress.away(reading(travel=0.1)) == pytest.approx(0.1)

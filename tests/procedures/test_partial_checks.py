"""What must hold before a partial stroke: each check, from fresh readings, in words."""

import msgspec
import pytest

from commission.analysis.partial import Check
from commission.procedures.partial_checks import OLDEST_S, checked_roles, checks
from commission.procedures.partial_guards import Progress
from commission.procedures.partial_told import Told
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading, Readings
from commission.sheet.model import PartialStroke
from tests.analysis.partials import baseline
from tests.analysis.seen import SHEET

assert SHEET.partial_stroke is not None
PLAN: PartialStroke = SHEET.partial_stroke
TOLD = Told(test="L2 1", steady_s=60.0, starts_used=1, line_change_bar=2.0)


def still(**changed: float) -> list[Readings]:
    """Sixty seconds of a unit in order, with what differs in its last second."""
    alarms = {p.role: 0.0 for p in SHEET.points if p.role.startswith("alarm_") and p.role != "alarm_relay"}
    values = {
        "travel": 1.0, "cylinder_pressure": 124e5, "motor_running": 0.0, "remote": 1.0, "automatic": 1.0,
        "esd_healthy": 1.0, "alarm_relay": 1.0, "low_fluid": 0.0, "pipeline_pressure": 61.8e5, "supply_voltage": 24.4,
        "oil_temperature": 20.0, "open_limit": 1.0, "closed_limit": 0.0, "starts_allowed": 6.0, "run_limit": 300.0,
        "partial_guard_travel": 0.2, "partial_guard_time": 20.0, **alarms,
    }  # fmt: skip
    found = []
    for second in range(61):
        at_ns = second * 1_000_000_000
        shown = {**values, **(changed if second == 60 else {})}
        found.append(Readings(second + 1, at_ns, {role: Reading(value, at_ns, 0) for role, value in shown.items()}))
    return found


def seen(
    told: Told = TOLD, sheet: Sheet = SHEET, now_s: float = 60.0, changed: dict[str, float] | None = None
) -> dict[str, Check]:
    """Every check by name."""
    samples = still(**(changed or {}))
    found = checks(sheet, PLAN, told, Progress(End.OPEN, 0.15), samples, round(now_s * 1e9))
    return {check.name: check for check in found}


def test_a_unit_in_order_passes_every_check() -> None:
    """And each says what was read."""
    found = seen()
    assert all(check.holds for check in found.values()), [str(c) for c in found.values() if not c.holds]
    assert str(found["hydraulic pressure"]) == "hydraulic pressure: 124.0 bar, 95 to 140 bar"
    assert str(found["motor starts"]) == "motor starts: 5 left of 6, 1 counted"
    assert str(found["unit's own guard"]) == "unit's own guard: 20 % and 20 s, sheet 20 % and 20 s"
    assert found["baseline"].words == "none yet: nothing is compared"


def test_a_laptop_that_turns_it_round_must_be_quicker_than_the_units_time_out() -> None:
    """The unit takes its command for a full stroke; the check says how long is left and how long is needed."""
    laptop = msgspec.structs.replace(SHEET, partial_stroke=msgspec.structs.replace(PLAN, turned_by="laptop"))
    samples, progress = still(), Progress(End.OPEN, 0.15)

    def check(told: Told) -> Check:
        assert laptop.partial_stroke is not None
        found = checks(laptop, laptop.partial_stroke, told, progress, samples, 60_000_000_000)
        return next(one for one in found if one.name == "unit's travel time-out")

    assert check(TOLD).holds
    assert str(check(TOLD)) == "unit's travel time-out: 13.6 s until the return must be there, 10 s needed"
    short = check(msgspec.structs.replace(TOLD, settings={"travel_timeout_close": "11"}))
    assert not short.holds
    assert "unit's travel time-out" not in seen()


@pytest.mark.parametrize(
    ("changed", "name", "words"),
    [
        ({"esd_healthy": 0.0}, "ESD loop", "tripped"),
        ({"remote": 0.0}, "selector", "local or off"),
        ({"alarm_supply": 1.0}, "alarms", "supply alarm active"),
        ({"travel": 0.97}, "valve at its start", "3.0 % from open"),
        ({"motor_running": 1.0}, "motor", "running"),
        ({"cylinder_pressure": 90e5}, "hydraulic pressure", "90.0 bar"),
        ({"supply_voltage": 20.0}, "supply", "20.0 V"),
        ({"oil_temperature": 50.0}, "oil", "50.0 °C"),
        ({"pipeline_pressure": 51e5}, "line pressure", "51.0 bar, 52 to 68 bar"),
        ({"run_limit": 30.0}, "motor run time", "30 s left, 42 s needed"),
        ({"starts_allowed": 2.0}, "motor starts", "1 left of 2"),
        ({"partial_guard_time": 60.0}, "unit's own guard", "20 % and 60 s, sheet 20 % and 20 s"),
    ],
    ids=lambda value: value if isinstance(value, str) and " " not in value else "",
)
def test_r22_each_check_refuses_by_its_own_reading(changed: dict[str, float], name: str, words: str) -> None:
    """With the reading in the sentence."""
    found = seen(changed=changed)
    assert not found[name].holds
    assert words in str(found[name])
    assert "NOT as it should be" in str(found[name])


def test_r22_a_reading_of_more_than_five_seconds_ago_is_none() -> None:
    """Nothing else is even looked at."""
    found = seen(now_s=60.0 + OLDEST_S + 0.1)
    assert list(found) == ["readings"]
    assert not found["readings"].holds


def test_a_minute_that_was_too_short_or_a_valve_that_drifted() -> None:
    """Steady for sixty seconds, within half a percent."""
    short = checks(SHEET, PLAN, TOLD, Progress(End.OPEN, 0.15), still()[30:], 60_000_000_000)
    assert not next(check for check in short if check.name == "steady, line good").holds
    assert not seen(changed={"travel": 0.993})["steady, line good"].holds


def test_a_value_that_is_not_read_is_no_value() -> None:
    """A sensor that sends no number refuses the stroke."""
    samples = still()
    kept = {role: reading for role, reading in samples[-1].by_role.items() if role != "cylinder_pressure"}
    samples[-1] = Readings(61, samples[-1].at_ns, kept)
    found = checks(SHEET, PLAN, TOLD, Progress(End.OPEN, 0.15), samples, samples[-1].at_ns)
    assert str(next(c for c in found if c.name == "hydraulic pressure")).startswith("hydraulic pressure: not read")


def test_the_baseline_is_named_or_why_it_cannot_be_used() -> None:
    """A baseline of other settings compares nothing, and refuses nothing."""
    assert seen(told=Told(test="x", starts_used=1, baseline=baseline()))["baseline"].words.startswith("B1, 3 runs")
    apart = Told(test="x", starts_used=1, baseline=baseline(), apart="run limit was 300, is 75")
    assert "run limit was 300, is 75" in seen(told=apart)["baseline"].words


def test_points_that_the_unit_has_not_are_not_asked_for() -> None:
    """A sheet without a line pressure or a guard's settings."""
    roles = {"pipeline_pressure", "partial_guard_travel", "supply_voltage"}
    bare = msgspec.structs.replace(SHEET, points=tuple(p for p in SHEET.points if p.role not in roles))
    assert not roles & set(checked_roles(bare))
    assert {"line pressure", "supply", "unit's own guard"}.isdisjoint(seen(sheet=bare))

"""What the walk knows of a partial stroke: what it is told, when it is refused, how a baseline comes to be."""

import msgspec
import pytest

from commission.checklist import ProcedureUse
from commission.job.bodies import Adjusted, BaselineSet
from commission.procedures.partial_told import as_arguments
from commission.walk.acts import ActError
from commission.walk.partial import (
    PARTIAL,
    Line,
    baseline_of,
    is_first_safety_movement,
    refusal,
    rest_h,
    return_proved,
    told,
)
from tests.job.test_history import earlier, first
from tests.walk.visits import Person, good_person

LINE = Line(cycle_s=0.07, latency_s=0.31, speed=20.0, settings={"run_limit": "300"}, oil_c=20.0)
USE = ProcedureUse(name=PARTIAL, arguments={"compared": "yes"})
PLAIN = ProcedureUse(name=PARTIAL, arguments={"compared": "no"})


def at(step: str) -> Person:
    """A person on the invented day, before this step."""
    person = good_person()
    person.walk_to(step)
    return person


def with_baseline() -> Person:
    """The same, after the baseline was signed."""
    return at("L3")


def test_it_is_told_what_was_agreed_and_what_the_line_can_do() -> None:
    """Starts counted, line pressure agreed, hours since the valve moved; no baseline yet."""
    visit = at("L2").visit
    found = told(visit.job, PLAIN, "L2 1", LINE, visit.now)
    assert (found.test, found.cycle_s, found.latency_s, found.speed) == ("L2 1", 0.07, 0.31, 20.0)
    assert (found.starts_used, found.line_change_bar) == (0, 2.0)
    assert found.baseline is None
    assert found.settings == {"run_limit": "300"}
    assert as_arguments(found)["settings"] == '{"run_limit":"300"}'


def test_three_strokes_and_a_signature_make_the_baseline() -> None:
    """With the settings and the oil of the day, and what it lacks."""
    kept = with_baseline().visit.job.history.baseline
    assert kept is not None
    assert (kept.set.signed_by, kept.set.reason) == ("Piet Exampler", "")
    found = kept.set.baseline
    assert (found.id, len(found.runs), found.serial) == ("B1", 3, "EH-40117")
    assert found.path == "separate 1.2 mm bleed"
    assert not found.has_rested_run
    assert set(found.runs[0].values) == {"time_to_target", "breakaway_pressure", "return_time"}


def test_too_few_strokes_or_nobody_who_signs_make_none() -> None:
    """And an adjustment makes all of them void."""
    person = with_baseline()
    with pytest.raises(ActError, match="who signs"):
        baseline_of(person.visit.job, "  ")
    with pytest.raises(ActError, match="renewed only with its reason"):
        baseline_of(person.visit.job, "Piet Exampler")
    renewed = baseline_of(person.visit.job, "Piet Exampler; packing replaced")
    assert isinstance(renewed, BaselineSet)
    assert (renewed.baseline.id, renewed.reason) == ("B2", "packing replaced")
    person.visit.record(Adjusted(touched="needle", detail="a quarter turn"))
    with pytest.raises(ActError, match="3 partial strokes that passed; 0 stand"):
        baseline_of(person.visit.job, "Piet Exampler; needle")


def test_compared_with_the_baseline_or_with_why_it_is_apart() -> None:
    """Other settings compare nothing, and the difference is named; a run for the baseline itself leaves it out."""
    visit = with_baseline().visit
    same = told(visit.job, USE, "L4 1", msgspec.structs.replace(LINE, settings={}), visit.now)
    assert same.baseline is not None
    assert same.apart == ""
    changed = told(visit.job, USE, "L4 1", LINE, visit.now)
    assert changed.apart == "run limit was not read, is 300"
    assert told(visit.job, PLAIN, "L2 4", LINE, visit.now).baseline is None


def test_the_way_back_has_to_be_proved() -> None:
    """By a stroke to the open end that passed, here or in the earlier job."""
    job = at("K1").visit.job
    assert return_proved(job) == ""
    refused = refusal(job, {"compared": "no"})
    assert refused is not None
    assert "The way back is not proved" in str(refused)
    assert return_proved(at("L2").visit.job).startswith("L1 open 1")
    person = at("K1")
    person.visit.record(earlier(first()))
    assert return_proved(person.visit.job) == "L2 3, 2025-11-24"


def test_nothing_is_compared_without_a_baseline() -> None:
    """It is refused, with what settles it."""
    job = at("L2").visit.job
    refused = refusal(job, {"compared": "yes"})
    assert refused is not None
    assert "There is no baseline" in str(refused)
    assert refusal(job, {"compared": "no"}) is None
    assert refusal(with_baseline().visit.job, {"compared": "yes"}) is None


def test_a_normally_closed_vent_and_a_unit_without_one_are_refused() -> None:
    """Always."""
    job = at("L2").visit.job
    vent = msgspec.structs.replace(job.sheet, valve=msgspec.structs.replace(job.sheet.valve, normally_closed_vent=True))
    assert "vent the line" in str(refusal(msgspec.structs.replace(job, sheet=vent), {}))
    without = msgspec.structs.replace(job.sheet, partial_stroke=None)
    assert "has no partial stroke" in str(refusal(msgspec.structs.replace(job, sheet=without), {}))


def test_rest_is_counted_from_the_last_movement() -> None:
    """By a run or by hand; a stroke that somebody else caused is one too."""
    person = at("L1")
    last = max(run.at_utc for run in person.visit.job.runs.values())
    rested = rest_h(person.visit.job, person.visit.now)
    assert rested is not None
    assert 0 <= rested < 0.5
    assert person.visit.job.steps["K6"].attempts[-1].concluded_utc >= last
    person.visit.wait(60 * 14)
    later = rest_h(person.visit.job, person.visit.now)
    assert later == pytest.approx(rested + 14.0, abs=0.01)


def test_nobody_knows_the_rest_of_a_fresh_job() -> None:
    """Until somebody says it."""
    visit = good_person().visit
    assert rest_h(visit.job, visit.now) is None


def test_r21_the_first_movement_in_the_safety_direction_of_a_retest_is_the_as_found_one() -> None:
    """Whatever causes it; a commissioning visit has none."""
    closing = ProcedureUse(name="full_stroke", arguments={"direction": "closed"})
    opening = ProcedureUse(name="full_stroke", arguments={"direction": "open"})
    person = at("K1")
    assert not is_first_safety_movement(person.visit.job, closing)
    person.visit.record(earlier(first()))
    job = person.visit.job
    assert is_first_safety_movement(job, closing)
    assert is_first_safety_movement(job, USE)
    assert not is_first_safety_movement(job, opening)
    person.walk_to("K4")
    assert not is_first_safety_movement(person.visit.job, closing)

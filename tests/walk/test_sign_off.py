"""What blocks signing."""

from datetime import timedelta

from commission.job.bodies import (
    Adjusted,
    DeviationAccepted,
    DeviationRaised,
    TemporaryAdded,
    TemporaryRemoved,
)
from commission.walk.sign_off import blockers, is_sign_step
from tests.walk.visits import Visit, good_person


def _reasons(visit: Visit) -> list[str]:
    return [refused.reason for refused in blockers(visit.job, visit.now)]


def _before_signing() -> Visit:
    person = good_person()
    person.walk_to("Q7")
    assert _reasons(person.visit) == []
    return person.visit


def test_a_new_job_has_everything_before_it() -> None:
    """Not handed back, nothing done, no permit."""
    reasons = _reasons(Visit())
    assert "The unit is unknown, not in operation" in reasons
    assert any(reason.startswith("K1 ") for reason in reasons)
    assert reasons[-1] == "No permit to work is recorded"


def test_one_temporary_thing_blocks_until_it_is_off() -> None:
    """And it comes first."""
    visit = _before_signing()
    visit.record(TemporaryAdded(id="T9", kind="jumper", what="jumper", where="TB-3", why="test"))
    assert _reasons(visit)[0].startswith("Still on: jumper, TB-3")
    visit.record(TemporaryRemoved(id="T9", second_person="O. Sampleton", proved_by="alarm back"))
    assert _reasons(visit) == []


def test_a_touch_after_the_final_stroke_blocks() -> None:
    """What became void is repeated, and a stroke passes after the last touch."""
    visit = _before_signing()
    visit.wait(1)
    visit.record(Adjusted(touched="needle", detail="a quarter turn"))
    reasons = _reasons(visit)
    assert "K1 is void: needle or orifice: a quarter turn" in reasons
    assert any(reason.startswith("No stroke has passed since needle was touched") for reason in reasons)


def test_a_deviation_of_class_a_waits_for_the_owners_side() -> None:
    """Class B does not block; it stands in the report."""
    visit = _before_signing()
    visit.record(DeviationRaised(id="D8", step="K1", required="10 s", found="12 s", classed="B"))
    assert _reasons(visit) == []
    visit.record(DeviationRaised(id="D9", step="K5", required="closes", found="held", classed="A"))
    assert _reasons(visit) == ["Deviation D9 of K5 is class A, before start-up: held"]
    visit.record(DeviationAccepted(id="D9", reason="P. Exampler: line stays shut"))
    assert _reasons(visit) == []


def test_the_permit_is_still_in_force() -> None:
    """Trade guide 11.1: permit still valid."""
    visit = _before_signing()
    visit.now += timedelta(days=1)
    assert "has ended" in _reasons(visit)[0]


def test_only_the_signing_step_is_one() -> None:
    """By the effect of its questions."""
    job = Visit().job
    assert [step.id for step in job.checklist.steps if is_sign_step(step)] == ["Q7"]

"""Runs of a step: how they are named, counted and how long one may take."""

import msgspec
import pytest

from commission.checklist import ProcedureUse
from commission.job.bodies import Adjusted
from commission.walk.movement import arguments_of, counted_runs, longest_s, next_test, open_run, step_longest_s
from commission.walk.prompts import pending
from tests.walk.visits import Person, Visit, good_person

OPEN = ProcedureUse(name="full_stroke", arguments={"direction": "open"})
SPAN = ProcedureUse(name="span", arguments={"signal": "feedback", "moved_by": "laptop"})
CLOSED = ProcedureUse(name="full_stroke", arguments={"direction": "closed"})


def _after_runs(count: int) -> tuple[Person, object]:
    person = good_person()
    step = person.walk_to("K1")
    while sum(run.begun.step == "K1" for run in person.visit.job.runs.values()) < count:
        person.act(step, pending(person.visit.job, step, person.visit.now))
    return person, step


@pytest.mark.parametrize(("use", "seconds"), [(OPEN, 275.0), (CLOSED, 50.0)])
def test_the_longest_run_comes_from_the_units_own_time_out(use: ProcedureUse, seconds: float) -> None:
    """240 s open and 15 s closed, with what a stroke takes besides."""
    assert longest_s(Visit().job.sheet, use) == seconds


def test_a_span_holds_at_each_of_its_points() -> None:
    """Five minutes a point besides both time-outs; one that this unit does not allow is refused where it begins."""
    sheet = Visit().job.sheet
    assert longest_s(sheet, SPAN) == 5 * 300 + 255
    fast = msgspec.structs.replace(sheet.strokes.opening, shortest_s=1.0, expected_s=2.0)
    cannot = msgspec.structs.replace(sheet, strokes=msgspec.structs.replace(sheet.strokes, opening=fast))
    assert longest_s(cannot, SPAN) == 35.0


def test_answers_are_handed_to_the_procedures_of_their_step() -> None:
    """Words as they are, numbers in the question's own unit; what the checklist says stays."""
    person = good_person()
    person.script |= {"M1.full_scale": "0.02 A", "M1.meter": "C-07"}
    step = person.walk_to("M1")
    for _ in range(7):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    given = arguments_of(person.visit.job, step, step.procedures[0])
    assert given["moved_by"] == "laptop"
    assert (given["meter"], given["meter_full_scale_ma"], given["meter_accuracy"]) == ("C-07", "20", "0.02 mA")
    assert arguments_of(Visit().job, step, step.procedures[0]) == dict(step.procedures[0].arguments)


def test_a_step_is_as_long_as_its_longest_movement() -> None:
    """K1 strokes both ways; A5 moves nothing."""
    job = Visit().job
    assert step_longest_s(job.sheet, job.checklist.step("K1")) == 275.0
    assert step_longest_s(job.sheet, job.checklist.step("A5")) == 0.0


def test_names_count_over_the_visit() -> None:
    """No name comes twice, whatever became of a run."""
    person, _ = _after_runs(3)
    job = person.visit.job
    assert next_test(job, job.checklist.step("K1"), CLOSED).name == "K1 closed 4"
    assert next_test(job, job.checklist.step("K1"), CLOSED).kind == "K1 closed"


def test_runs_are_counted_by_direction_and_void_ones_not_at_all() -> None:
    """After three strokes two were opening; a turned needle makes none count."""
    person, _ = _after_runs(3)
    job = person.visit.job
    step = job.checklist.step("K1")
    attempt = job.steps["K1"].last
    assert attempt is not None
    assert (len(counted_runs(job, step, attempt, OPEN)), len(counted_runs(job, step, attempt, CLOSED))) == (2, 1)
    person.visit.record(Adjusted(touched="needle", detail="a quarter turn"))
    assert counted_runs(person.visit.job, step, attempt, OPEN) == ()


def test_no_motion_is_open_between_runs() -> None:
    """Each was ended."""
    person, _ = _after_runs(2)
    assert open_run(person.visit.job) is None


def test_an_argument_may_be_the_answer_to_another_step() -> None:
    """The gauge is typed once at O1, and O3 has it; before that it is empty."""
    person = good_person()
    o3 = person.visit.job.checklist.step("O3")
    use = o3.procedures[1]
    assert arguments_of(person.visit.job, o3, use) == {"trip": "high", "gauge": ""}
    person.walk_step(person.walk_to("O1"))
    assert arguments_of(person.visit.job, o3, use)["gauge"].startswith("G-12; 0-100 bar")

"""The verdict of a step."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.figure import Verdict, make_figure
from commission.job.bodies import (
    Adjusted,
    DeviationRaised,
    FiguresComputed,
    SeriesCompared,
    StepBegun,
    StepConcluded,
)
from commission.walk.conclusion import NOT_OBSERVED, ConclusionError, conclude, could_not_do, worst
from commission.walk.prompts import Conclude, RunProcedure, pending
from tests.walk.visits import Person, good_person


def _last(person: Person, step: str) -> tuple[str, str]:
    last = person.visit.job.steps[step].last
    assert last is not None
    return last.verdict, last.reason


@given(st.lists(st.sampled_from(list(Verdict)), min_size=1))
def test_the_worst_wins_and_one_more_never_betters_it(verdicts: list[Verdict]) -> None:
    """A pass beside a failure is a failure."""
    assert worst(verdicts) in (*verdicts, Verdict.PASS)
    if Verdict.FAIL in verdicts:
        assert worst(verdicts) in (Verdict.FAIL, Verdict.STOPPED)
    if worst(verdicts).is_good:
        assert Verdict.NOT_DECIDED not in verdicts


def test_nothing_to_the_contrary_is_a_pass() -> None:
    """A step of names and texts."""
    assert worst([]) is Verdict.PASS


def test_one_failed_run_fails_the_step_with_one_deviation() -> None:
    """However many strokes failed."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    while not isinstance(prompt := pending(visit.job, step, visit.now), Conclude):
        if isinstance(prompt, RunProcedure) and prompt.test.direction == "closed":
            visit.run(step, prompt, "fail")
        else:
            person.act(step, prompt)
    deviation, concluded = conclude(visit.job, step)
    assert isinstance(deviation, DeviationRaised)
    assert "3 of the runs failed, first K1 closed 2" in deviation.found
    assert isinstance(concluded, StepConcluded)
    assert concluded.verdict == "fail"


def test_not_decided_is_not_a_pass() -> None:
    """Inside the guard band."""
    person = good_person()
    step = person.walk_to("Q3")
    visit = person.visit
    while not isinstance(prompt := pending(visit.job, step, visit.now), Conclude):
        if isinstance(prompt, RunProcedure):
            visit.run(step, prompt, "not decided")
        else:
            person.act(step, prompt)
    (concluded,) = conclude(visit.job, step)
    assert isinstance(concluded, StepConcluded)
    assert concluded.verdict == "not decided"


def test_put_right_in_the_step_is_a_pass_after_adjustment() -> None:
    """62 bar as found, 90 as left."""
    person = good_person()
    person.walk_to("H0")
    assert _last(person, "G4") == ("pass after adjustment", "")


def test_still_wrong_after_putting_right_fails() -> None:
    """As left counts."""
    person = good_person()
    person.script["G4.left"] = "70"
    step = person.walk_to("G4")
    person.walk_step(step)
    assert _last(person, "G4")[0] == "fail"
    assert len(person.visit.job.deviations) == 1


def test_a_repeat_after_an_adjustment_says_so() -> None:
    """K1 passed, the cam was touched, K1 passed again."""
    person = good_person()
    person.walk_to("K4")
    person.visit.record(Adjusted(touched="needle", detail="quarter turn"))
    person.walk_step(person.visit.job.checklist.step("K1"))
    assert _last(person, "K1")[0] == "pass after adjustment"


def test_a_stroke_whose_stem_nobody_saw_says_so() -> None:
    """The final stroke needs no second look where K1's stem was seen; without it the verdict says so."""
    person = good_person()
    step = person.walk_to("Q3")
    visit = person.visit
    register = msgspec.structs.replace(visit.job.register, stem_looks=())
    visit.job = msgspec.structs.replace(visit.job, register=register)
    person.walk_step(step)
    assert _last(person, "Q3") == ("pass", NOT_OBSERVED)


def test_the_wrong_unit_stops_and_opens_nothing() -> None:
    """With what to do."""
    person = good_person()
    person.script["B4.tag"] = "XV-1102"
    person.walk_step(person.walk_to("B4"))
    verdict, reason = _last(person, "B4")
    assert verdict == "stopped"
    assert reason.startswith("STOP. Wrong unit")
    assert not person.visit.job.steps["B4"].done


def test_a_figure_from_answers_can_fail_a_step_whose_answers_passed() -> None:
    """1.2 MΩ read in the cold are a tenth of that at 40 °C: the step fails, with one deviation."""
    person = good_person()
    person.script["F3.insulation"] = "1.2"
    person.script["F3.winding"] = "5"
    person.walk_step(person.walk_to("F3"))
    assert _last(person, "F3")[0] == "fail"
    assert "insulation at 40 c fail" in _last(person, "F3")[1]


def test_a_simulated_cause_is_a_verdict_of_its_own() -> None:
    """Safety rule R23."""
    person = good_person()
    person.script["K5.cause"] = "terminal bridged"
    person.walk_step(person.walk_to("K5"))
    assert _last(person, "K5") == ("simulated", "simulated: terminal bridged")


def test_could_not_do_is_a_result_with_its_reason() -> None:
    """Not for a crossing, not for signing, not without a reason, not for what was not begun."""
    person = good_person()
    step = person.walk_to("F2")
    job = person.visit.job
    with pytest.raises(ConclusionError, match="not open"):
        could_not_do(job, step, "meter flat")
    person.visit.record(StepBegun(step="F2"))
    with pytest.raises(ConclusionError, match="say why"):
        could_not_do(person.visit.job, step, " ")
    (concluded,) = could_not_do(person.visit.job, step, "meter flat")
    assert concluded == StepConcluded(step="F2", verdict="not tested", reason="meter flat")
    with pytest.raises(ConclusionError, match="abandon the crossing"):
        could_not_do(job, job.checklist.step("E5"), "cold")
    with pytest.raises(ConclusionError, match="leaving it out"):
        could_not_do(job, job.checklist.step("Q7"), "late")
    with pytest.raises(ConclusionError, match="not open"):
        conclude(job, job.checklist.step("A3"))


def test_strokes_that_do_not_repeat_fail_the_step_although_each_passed() -> None:
    """8.0, 8.0 and 9.6 s closing: the comparison is recorded first, then one deviation, then the verdict."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    closing = iter((8.0, 8.0, 9.6))
    while not isinstance(prompt := pending(visit.job, step, visit.now), Conclude):
        if isinstance(prompt, RunProcedure) and prompt.test.direction == "closed":
            visit.run(step, prompt)
            run = list(visit.job.runs)[-1]
            time = make_figure("response_time", next(closing), 0.06, "s", "test/1")
            visit.record(FiguresComputed(run=run, figures=(time,), timed_by="samples", commanded_by="laptop"))
        else:
            person.act(step, prompt)
    together, deviation, concluded = conclude(visit.job, step)
    assert isinstance(together, SeriesCompared)
    assert [result.verdict for result in together.results] == ["fail"]
    assert isinstance(deviation, DeviationRaised)
    assert "repeatability_closing" in deviation.required
    assert isinstance(concluded, StepConcluded)
    assert concluded.verdict == "fail"
    assert "repeatability closing fail" in concluded.reason

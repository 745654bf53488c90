"""The very next thing asked, from the fold alone."""

import pytest

from commission.checklist import Question
from commission.energy import EnergyState
from commission.job.bodies import DeviationRaised, StepBegun, TemporaryAdded
from commission.job.state import fold
from commission.walk.confirm import Confirmation
from commission.walk.movement import MotionTest
from commission.walk.prompts import (
    Accept,
    Ask,
    AwaitMotion,
    BeginStep,
    Conclude,
    ConfirmMovement,
    Cross,
    Evidence,
    RunProcedure,
    TakeOff,
    how_to_answer,
    pending,
)
from tests.walk.visits import Person, Visit, good_person


def _kinds(person: Person, name: str) -> list[str]:
    """What is asked in a step, from its beginning to its verdict."""
    step = person.walk_to(name)
    kinds: list[str] = []
    while True:
        prompt = pending(person.visit.job, step, person.visit.now)
        kinds.append(type(prompt).__name__)
        person.act(step, prompt)
        if isinstance(prompt, Conclude):
            return kinds


def test_a_step_of_questions() -> None:
    """Cautions first, then each question, then the verdict."""
    assert _kinds(good_person(), "A5") == ["BeginStep", "Ask", "Ask", "Ask", "Conclude"]


def test_a_crossing_is_begun_proved_and_entered() -> None:
    """And what is asked afterwards comes after the state is entered."""
    kinds = _kinds(good_person(), "H9")
    assert kinds[:2] == ["BeginStep", "Cross"]
    assert kinds[-4:] == ["Cross", "TakeOff", "Ask", "Conclude"]
    assert set(kinds[2:-4]) == {"Evidence"}


def test_each_run_is_confirmed_then_run() -> None:
    """Six strokes, then the stem."""
    kinds = _kinds(good_person(), "K1")
    assert kinds == ["BeginStep", *["ConfirmMovement", "RunProcedure"] * 6, "Ask", "Ask", "Conclude"]


def test_evidence_counts_down() -> None:
    """`left` says how much is missing, this one included."""
    person = good_person()
    step = person.walk_to("E5")
    left = []
    while pending(person.visit.job, step, person.visit.now) != Cross(EnergyState.LOCKED, enter=True):
        prompt = pending(person.visit.job, step, person.visit.now)
        if isinstance(prompt, Evidence):
            left.append(prompt.left)
        person.act(step, prompt)
    assert left == list(range(len(left), 0, -1))


def test_a_visit_resumes_at_the_exact_sub_step() -> None:
    """At every event of a whole visit, the folded record asks what the running visit asks."""
    person = good_person()
    step = person.walk_to("I1")
    visit = person.visit
    while not isinstance(prompt := pending(visit.job, step, visit.now), Conclude):
        assert pending(fold(visit.events), step, visit.now) == prompt
        person.act(step, prompt)


def test_a_confirmation_of_ten_minutes_ago_is_asked_again() -> None:
    """The run was not begun; the area may have changed."""
    person = good_person()
    step = person.walk_to("K1")
    while not isinstance(pending(person.visit.job, step, person.visit.now), RunProcedure):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    person.visit.wait(10)
    assert isinstance(pending(person.visit.job, step, person.visit.now), ConfirmMovement)


def test_putting_right_is_asked_only_where_something_is_wrong() -> None:
    """A precharge that is right is not set."""
    person = good_person()
    person.script["G4.found"] = "89.5"
    assert _kinds(person, "G4") == ["BeginStep", "Ask", "Ask", "Ask", "Conclude"]
    assert _kinds(good_person(), "G4") == ["BeginStep", "Ask", "Ask", "Ask", "Ask", "Conclude"]


def test_a_stopping_answer_ends_the_step() -> None:
    """The wrong unit: nothing more is asked, the step does not count."""
    person = good_person()
    step = person.walk_to("B4")
    person.script["B4.tag"] = "XV-1102"
    for _ in range(2):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    assert pending(person.visit.job, step, person.visit.now) == Conclude()


def test_each_temporary_thing_and_each_class_a_deviation_is_a_prompt_of_its_own() -> None:
    """Before the question that closes the list."""
    visit = Visit()
    visit.record(StepBegun(step="Q2"))
    visit.record(TemporaryAdded(id="T1", kind="jumper", what="jumper", where="TB-3", why="test"))
    assert isinstance(pending(visit.job, visit.job.checklist.step("Q2"), visit.now), TakeOff)
    visit.record(StepBegun(step="Q6"))
    visit.record(DeviationRaised(id="D1", step="K5", required="closes", found="held", classed="A"))
    assert isinstance(pending(visit.job, visit.job.checklist.step("Q6"), visit.now), Accept)


def test_a_concluded_step_is_begun_again() -> None:
    """A repeat is another attempt."""
    person = good_person()
    person.walk_to("B2")
    job = person.visit.job
    assert isinstance(pending(job, job.checklist.step("A5"), person.visit.now), BeginStep)


@pytest.mark.parametrize("kind", ["text", "number", "count", "person", "time"])
def test_every_question_says_how_it_is_answered(kind: str) -> None:
    """With an example."""
    prompt = Ask(Question(id="x", ask="?", kind=kind, unit=""))  # type: ignore[arg-type]  # a parameter
    assert len(how_to_answer(prompt)) > 8


def test_what_is_to_be_typed_for_a_movement_is_never_shown() -> None:
    """Safety rule R13."""
    test = MotionTest("K1 open 1", "K1", "open", 1, 275.0)
    for kind in Confirmation:
        words = how_to_answer(ConfirmMovement(test, kind))
        assert "1101" not in words
        assert "4" not in words


def test_other_prompts_say_how_too() -> None:
    """None is left without words."""
    for prompt in (BeginStep(()), Cross(EnergyState.LIVE, enter=True), AwaitMotion("K1-1"), Conclude()):
        assert how_to_answer(prompt)


def test_a_question_for_other_units_is_not_asked() -> None:
    """XV-1101 fails closed: its closed limit is read at rest, and nobody asks for the open one."""
    person = good_person()
    step = person.walk_to("I2")
    asked = []
    while not isinstance(prompt := pending(person.visit.job, step, person.visit.now), Conclude):
        asked += [prompt.question.id] if isinstance(prompt, Ask) else []
        person.act(step, prompt)
    assert asked == ["rest", "closed_bit"]

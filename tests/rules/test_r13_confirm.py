"""Safety rule R13: confirming a movement; what is typed is never shown, and Enter alone never starts a motion."""

import pytest

from commission.walk.answers import AnswerError, answer
from commission.walk.confirm import Confirmation
from commission.walk.prompts import ConfirmMovement, RunProcedure, how_to_answer, pending
from tests.walk.visits import TESS, Person, good_person


def _at_first_movement() -> tuple[Person, ConfirmMovement]:
    person = good_person()
    step = person.walk_to("K1")
    person.act(step, pending(person.visit.job, step, person.visit.now))
    prompt = pending(person.visit.job, step, person.visit.now)
    assert isinstance(prompt, ConfirmMovement)
    return person, prompt


@pytest.mark.parametrize("text", ["", "\n", " ", "y", "go", "g", "4", "1101", "4 1101", "5 1101 Mara", "4 1100 Mara"])
def test_r13_enter_or_anything_short_of_all_three_starts_nothing(text: str) -> None:
    """Count as at entry, characters of the plate, who says go."""
    person, prompt = _at_first_movement()
    visit = person.visit
    with pytest.raises(AnswerError):
        answer(visit.job, visit.job.checklist.step("K1"), prompt, text, TESS, visit.now)
    assert isinstance(pending(visit.job, visit.job.checklist.step("K1"), visit.now), ConfirmMovement)


def test_r13_what_is_to_be_typed_is_never_shown() -> None:
    """Neither in the prompt, nor in how to answer it, nor in a refusal."""
    person, prompt = _at_first_movement()
    visit = person.visit
    shown = [how_to_answer(prompt), str(prompt)]
    with pytest.raises(AnswerError) as raised:
        answer(visit.job, visit.job.checklist.step("K1"), prompt, "9 9999 Mara", TESS, visit.now)
    shown.append(str(raised.value))
    for text in shown:
        assert "1101" not in text
        assert str(visit.job.energy_log.now.people) not in text.replace("K1 open 1", "")


def test_r13_each_change_of_direction_asks_in_full() -> None:
    """Six strokes, open and closed in turn: six counts."""
    person = good_person()
    step = person.walk_to("K1")
    kinds = []
    while True:
        prompt = pending(person.visit.job, step, person.visit.now)
        if isinstance(prompt, ConfirmMovement):
            kinds.append(prompt.kind)
        if type(prompt).__name__ == "Conclude":
            break
        person.act(step, prompt)
    assert kinds == [Confirmation.FULL] * 6


def test_r13_no_motion_begins_without_its_own_confirmation() -> None:
    """In a whole visit each motion's test was confirmed just before it."""
    person = good_person()
    person.walk()
    confirmed: list[str] = []
    for event in person.visit.events:
        if event.kind == "movement_confirmed":
            confirmed.append(event.body["test"])
        elif event.kind == "motion_begun":
            assert confirmed.pop() == event.body["test"]
            assert confirmed == []


def test_r13_a_confirmation_is_void_after_a_crossing() -> None:
    """The state was lost between confirmation and run."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    while not isinstance(pending(visit.job, step, visit.now), RunProcedure):
        person.act(step, pending(visit.job, step, visit.now))
    visit.lose_state()
    assert not isinstance(pending(visit.job, step, visit.now), RunProcedure)

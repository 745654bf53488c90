"""One stroke instead of the whole walk: the way there, the stroke, the way back."""

import msgspec
import pytest

from commission.checklist import load_checklist
from commission.content import checklists_folder
from commission.energy import EnergyState
from commission.face.goals import Goals
from commission.sheet import End
from commission.visit import VisitError
from tests.walk.visits import Person, Visit, good_person


def one_stroke() -> Person:
    """A visit on the packed checklist of one stroke."""
    visit = Visit(checklist=load_checklist(checklists_folder() / "stroke.toml")[1])
    visit.connect()
    return Person(visit)


@pytest.mark.parametrize("direction", list(End))
def test_a_sheet_alone_is_walked_to_one_watched_stroke_and_back(direction: End) -> None:
    """Papers and crossings first, then that stroke and no other, then back into operation, and then nothing."""
    person = one_stroke()
    goals = Goals(person.visit.job, direction)
    while (step := goals.step(person.visit.job)) is not None:
        assert len(person.walked) < 40, person.walked
        person.walk_step(step)
    strokes = [run.begun for run in person.visit.job.runs.values()]
    assert {begun.arguments["direction"] for begun in strokes} == {str(direction)}
    assert person.visit.job.energy_log.now.state is EnergyState.IN_OPERATION


def test_a_stroke_done_before_is_done_again() -> None:
    """Asked for anew in a job that has it already, the stroke is walked once more."""
    person = good_person()
    person.walk()
    goals = Goals(person.visit.job, End.CLOSED)
    before = len(person.visit.job.runs)
    while (step := goals.step(person.visit.job)) is not None:
        assert len(person.walked) < 200
        person.walk_step(step)
    assert len(person.visit.job.runs) > before


def test_a_checklist_without_a_stroke_says_so() -> None:
    """In a sentence with the direction."""
    visit = Visit()
    without = [step for step in visit.job.checklist.steps if not step.procedures]
    checklist = msgspec.structs.replace(visit.job.checklist, steps=tuple(without))
    job = msgspec.structs.replace(visit.job, checklist=checklist)
    with pytest.raises(VisitError, match="no timed stroke to open"):
        Goals(job, End.OPEN)

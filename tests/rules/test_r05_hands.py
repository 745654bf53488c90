"""Safety rule R5: each step that touches a terminal names its access; a live step never asks for hands inside."""

import pytest

from commission.checklist import Access, parse_checklist
from commission.content import ContentError, Text
from commission.walk.gate import refusal
from commission.walk.route import applicable
from tests.walk.visits import good_person, texts

INSIDE = (Access.INSIDE, Access.FITTED_WHILE_LOCKED)


@pytest.mark.parametrize("state", ["live", "in operation"])
@pytest.mark.parametrize("access", list(INSIDE))
def test_r05_check_refuses_a_live_step_with_hands_inside_a_cover(state: str, access: Access) -> None:
    """`commission check` says which step and what instead."""
    _, (first, *rest) = texts()
    old = 'title = "Measure the earth bond"\nstate = "locked"\naccess = "inside, locked"'
    assert old in first.text
    new = f'title = "Measure the earth bond"\nstate = "{state}"\naccess = "{access}"'
    with pytest.raises(ContentError, match=r"step 'F2': access"):
        parse_checklist((Text(first.name, first.text.replace(old, new)), *rest))


@pytest.mark.parametrize("step", ["B5", "H1", "I2", "K1", "Q5"])
def test_r05_hands_inside_are_refused_in_every_other_state(step: str) -> None:
    """By the gate itself, whatever state the unit is in."""
    person = good_person()
    person.walk_to(step)
    for other in applicable(person.visit.job):
        if other.access in INSIDE:
            assert refusal(person.visit.job, other, person.visit.now) is not None, other.id


def test_r05_every_step_of_the_checklist_that_touches_a_terminal_names_its_access() -> None:
    """Words of terminals in what to do, hands outside: that would be a slip."""
    for step in parse_checklist(texts()[1]).steps:
        if "terminals while" in step.do or "each core" in step.do.lower():
            assert step.access is not Access.OUTSIDE, step.id

"""Safety rule R17: hands-free crosses no energy state, enters no step that commands, ends no step with hands in."""

from commission.checklist import LOOKS, Access
from commission.walk import gate
from commission.walk.hands_free import may_go_on
from commission.walk.prompts import Ask, Conclude, pending
from commission.walk.route import current
from tests.walk.visits import good_person


def test_r17_over_a_whole_visit_hands_free_answers_only_readings_of_quiet_steps() -> None:
    """Every prompt of the visit, in its own step."""
    person = good_person()
    allowed = 0
    while (step := current(person.visit.job)) is not None:
        while True:
            prompt = pending(person.visit.job, step, person.visit.now)
            if may_go_on(step, prompt):
                allowed += 1
                assert not step.crosses
                assert not gate.moves(step)
                assert not step.moves
                assert all(use.name in LOOKS for use in step.procedures), "it commands nothing"
                assert isinstance(prompt, Ask | Conclude)
                if isinstance(prompt, Ask):
                    assert prompt.question.kind == "measured"
                else:
                    assert step.access is Access.OUTSIDE
            person.act(step, prompt)
            if isinstance(prompt, Conclude):
                break
    assert allowed > 10

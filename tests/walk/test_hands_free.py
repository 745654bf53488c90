"""What may go on by itself."""

import pytest

from commission.walk.hands_free import may_go_on
from commission.walk.prompts import Ask, BeginStep, Conclude, Prompt
from tests.walk.visits import Visit


def test_a_measured_question_of_a_quiet_step_may() -> None:
    """The selector was turned, the bit is seen, the program says so."""
    step = Visit().job.checklist.step("I2")
    measured = [question for question in step.questions if question.kind == "measured"]
    assert all(may_go_on(step, Ask(question)) for question in measured)
    assert may_go_on(step, Conclude())


@pytest.mark.parametrize("name", ["K1", "J2", "H1", "E5", "I1", "I3-commands"])
def test_nothing_in_a_step_that_moves_commands_or_crosses(name: str) -> None:
    """Not even its end."""
    step = Visit().job.checklist.step(name)
    prompts: list[Prompt] = [BeginStep(()), Conclude(), *(Ask(question) for question in step.questions)]
    for prompt in prompts:
        assert not may_go_on(step, prompt)


def test_a_hands_in_step_is_ended_by_a_person() -> None:
    """Whoever has hands in says so."""
    step = Visit().job.checklist.step("F3")
    assert not may_go_on(step, Conclude())
    assert not may_go_on(step, BeginStep(step.cautions))

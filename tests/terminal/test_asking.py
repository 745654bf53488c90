"""How the walk screen words what is asked."""

import pytest

from commission.checklist import Question
from commission.energy import EnergyState, Need
from commission.terminal import asking
from commission.walk.confirm import Confirmation
from commission.walk.movement import next_test
from commission.walk.prompts import Ask, BeginStep, Conclude, ConfirmMovement, Cross, Evidence, Prompt
from tests.walk.visits import Visit

CHOICE = Ask(Question(id="c", ask="The lamp", kind="choice", choices=("lit", "dark")))
MEASURED = Ask(Question(id="m", ask="Travel", kind="measured", unit="%", role="travel"))
NUMBER = Ask(Question(id="n", ask="Pressure", kind="number", unit="bar"))
LOCK = Evidence(Need("locked", "motor", "Lock on the motor", "lock", "", 1), 2)


@pytest.mark.parametrize(
    ("prompt", "typed", "words"),
    [
        (BeginStep(()), False, "Read the caution aloud. Enter begins the step."),
        (Conclude(), False, "Enter concludes the step."),
        (Cross(EnergyState.LIVE, enter=False), False, "Enter begins, one point at a time."),
        (Cross(EnergyState.LIVE, enter=True), False, "Enter: yes, it is LIVE from now on."),
        (CHOICE, False, "Press its number."),
        (MEASURED, False, "Enter: the program reads it now."),
        (NUMBER, True, "A number, in bar unless you give another, as: 12.5 or 12,5"),
        (LOCK, True, "The number on the lock, as: lock 14"),
    ],
)
def test_each_prompt_says_which_key_or_what_to_type(prompt: Prompt, typed: bool, words: str) -> None:  # noqa: FBT001  # a column of the table
    """In one sentence."""
    assert asking.takes_typing(prompt) is typed
    assert asking.hint(prompt) == words


def test_more_to_read_is_said_before_a_step_begins() -> None:
    """Enter reads on first."""
    assert asking.hint(BeginStep(()), more=True) == "Enter reads on: there is more above."


def test_choices_are_numbered_and_evidence_is_counted() -> None:
    """As the keys are, and how many are left."""
    visit = Visit()
    assert asking.asked_lines(visit, CHOICE, "T", 50)[-2:] == [" 1  lit", " 2  dark"]  # type: ignore[arg-type]  # only its job is looked at
    assert "(2 left)" in " ".join(asking.asked_lines(visit, LOCK, "T", 50))  # type: ignore[arg-type]  # as above


def test_the_key_of_a_repeat_is_not_the_gas_alarm() -> None:
    """Whoever presses G for gas must never begin a countdown to a movement."""
    job = Visit().job
    step = job.checklist.step("K1")
    prompt = ConfirmMovement(next_test(job, step, step.procedures[0]), Confirmation.COUNTDOWN)
    assert asking.MOVE_KEY != "g"
    assert "Press M to move" in asking.hint(prompt)
    assert not asking.takes_typing(prompt)


@pytest.mark.parametrize(
    ("prompt", "key", "label"),
    [
        (None, "Enter", "look again"),
        (BeginStep(()), "Enter", "begin"),
        (Conclude(), "Enter", "conclude"),
        (CHOICE, "1-2", "choose"),
        (MEASURED, "Enter", "read"),
        (NUMBER, "Enter", "type"),
    ],
)
def test_the_key_line_names_the_key_that_answers(prompt: Prompt | None, key: str, label: str) -> None:
    """And no other."""
    shown = asking.answer_key(prompt)
    assert (shown.key, shown.label) == (key, label)
    assert asking.answer_key(BeginStep(()), more=True).label == "read on"


def test_what_was_not_taken_is_said_without_what_stands_right_above_it() -> None:
    """The step and the question are on the screen already, and the room is short."""
    step = Visit().job.checklist.step("K1")
    said = "K1, Lock on the motor: 'x' is no number. Expected: as lock 14"
    assert asking.without_place(said, step, LOCK) == "'x' is no number. Expected: as lock 14"
    assert asking.without_place("the unit does not answer", step, LOCK) == "The unit does not answer"
    assert asking.without_place(said, None, None) == said

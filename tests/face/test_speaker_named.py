"""Whose word an answer is, where one keyboard serves several people."""

import pytest

from commission.energy import EnergyState, Need
from commission.face.speaker_named import owner_line, with_speaker
from commission.job.bodies import PersonAdded
from commission.walk.prompts import Ask, Cross, Evidence, Prompt
from tests.walk.visits import OLLIE, TESS, Visit, good_person

LOCK = Evidence(Need("lock removed", "motor", "Its owner removes the lock", "lock", "(e)(3)", 1), 1)
WORD = Evidence(Need("tools out", "", "Tools out", "word", "", 1), 1)


def a_job() -> Visit:
    """A visit in which Ollie is known."""
    visit = Visit()
    visit.record(PersonAdded(name=OLLIE, role="operator"))
    return visit


@pytest.mark.parametrize(
    ("prompt", "text", "said", "by"),
    [
        (LOCK, "lock 12 by Juno Demoval", "lock 12", "Juno Demoval"),
        (LOCK, "12 BY ollie  sampleton", "12", OLLIE),
        (LOCK, "lock 12", "lock 12", TESS),
        (WORD, "all tools out by Ollie Sampleton", "all tools out", OLLIE),
        (WORD, "blocked by screw cap SC-2", "blocked by screw cap SC-2", TESS),
        (Cross(EnergyState.LIVE, enter=True), "live by Ollie Sampleton", "live by Ollie Sampleton", TESS),
    ],
)
def test_by_name_is_the_speaker_only_where_it_can_mean_nothing_else(
    prompt: Prompt, text: str, said: str, by: str
) -> None:
    """Evidence takes a known name, a lock any name; a decision to cross is the keyboard's."""
    assert with_speaker(a_job().job, prompt, text, TESS) == (said, by)


def test_a_free_text_answer_stays_as_it_was_typed() -> None:
    """`witnessed by` is part of a text; in a number's answer nothing else can be meant."""
    job = a_job().job
    questions = {question.kind: question for step in job.checklist.steps for question in step.questions}
    typed = "2 by Ollie Sampleton"
    assert with_speaker(job, Ask(questions["text"]), typed, TESS) == (typed, TESS)
    assert with_speaker(job, Ask(questions["number"]), typed, TESS) == ("2", OLLIE)


def test_whose_lock_it_is_is_said_to_everybody_else() -> None:
    """Not to the owner; and the number is never shown, because it is read on the lock."""
    person = good_person()
    person.walk(lambda job: "motor" in job.energy_log.now.locks)
    job = person.visit.job
    assert owner_line(job, LOCK, TESS) == ""
    shown = owner_line(job, LOCK, OLLIE)
    assert f"This lock is {TESS}'s" in shown
    assert job.energy_log.now.locks["motor"].number not in shown
    assert owner_line(job, WORD, OLLIE) == ""

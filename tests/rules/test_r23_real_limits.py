"""Safety rule R23, the words: a lowered limit is never a plain pass; a bridged terminal is simulated."""

import pytest

from commission.checklist import Question, Step
from commission.content import Text
from commission.job.bodies import StepConcluded
from commission.walk.answers import AnswerError
from commission.walk.conclusion import conclude
from commission.walk.prompts import Conclude, pending
from tests.walk.visits import GOOD_SCRIPT, Person, Visit, good_person, texts

LOWERED = """
[[steps]]
id = "K9"
title = "Prove the run-time limit"
state = "any"
cautions = ["settings"]
do = "Lower it, let it act, put it back."
questions = [{ id = "lowered", ask = "Proved at; read back; by", effect = "lowered limit", about = "run_limit" }]
"""


def _lowered() -> tuple[Visit, Step]:
    _, (first, *rest) = texts()
    visit = Visit(checklist=(Text(first.name, first.text + LOWERED), *rest))
    return visit, visit.job.checklist.step("K9")


def test_r23_a_lowered_limit_says_where_it_was_proved_and_is_no_plain_pass() -> None:
    """`proved at x; set y read back, not run`."""
    visit, step = _lowered()
    person = Person(visit, {**GOOD_SCRIPT, "K9.lowered": "20 s; 300 s; Piet Exampler"})
    while not isinstance(pending(visit.job, step, visit.now), Conclude):
        person.act(step, pending(visit.job, step, visit.now))
    (concluded,) = conclude(visit.job, step)
    assert isinstance(concluded, StepConcluded)
    assert concluded.reason == "proved at 20 s; set 300 s read back, not run"
    assert concluded.verdict not in ("pass", "pass after adjustment", "pass, watch")


def test_r23_a_lowered_limit_stands_on_the_temporary_list_with_the_owners_engineer() -> None:
    """Until it is put back and proved."""
    visit, step = _lowered()
    person = Person(visit, {"K9.lowered": "20 s; 300 s; Piet Exampler"})
    while not isinstance(pending(visit.job, step, visit.now), Conclude):
        person.act(step, pending(visit.job, step, visit.now))
    (item,) = visit.job.temporary.values()
    assert item.is_on
    assert "approved by Piet Exampler" in item.added.why


@pytest.mark.parametrize("cause", ["terminal bridged", "current injected"])
def test_r23_current_injected_or_a_terminal_bridged_is_simulated(cause: str) -> None:
    """However well the unit did."""
    person = good_person()
    person.script["K5.cause"] = cause
    person.walk_step(person.walk_to("K5"))
    last = person.visit.job.steps["K5"].last
    assert last is not None
    assert (last.verdict, last.reason) == ("simulated", f"simulated: {cause}")


def test_r23_the_question_of_the_cause_has_the_real_cause_first() -> None:
    """In the shipped checklist."""
    questions: list[Question] = [
        question
        for step in Visit().job.checklist.steps
        for question in step.questions
        if question.effect == "how caused"
    ]
    assert questions
    assert all(question.choices[0].startswith("real") for question in questions)


def test_r23_every_protection_asks_how_it_is_caused_and_a_limit_may_be_said_to_be_lowered() -> None:
    """Each step of phase N in live; those with a time or a count also ask whether their limit was lowered."""
    steps = [step for step in Visit().job.checklist.steps if step.id.startswith("N") and step.state == "live"]
    assert {step.id for step in steps} >= {"N1", "N2", "N3", "N4", "N5", "N7", "N9"}
    for step in steps:
        effects = {question.effect for question in step.questions}
        assert "how caused" in effects
        if step.id in ("N2", "N3", "N4"):
            assert "lowered limit" in effects


@pytest.mark.parametrize(
    ("answers", "verdict", "reason"),
    [
        ({}, "pass", ""),
        ({"N2.cause": "terminal bridged"}, "simulated", "simulated: terminal bridged"),
        (
            {"N2.lowered": "20 s; 300 s; Piet Exampler"},
            "not tested",
            "proved at 20 s; set 300 s read back, not run",
        ),
    ],
    ids=["at its real limit", "terminal bridged", "limit lowered"],
)
def test_r23_a_run_limit_is_a_plain_pass_only_at_its_real_limit(
    answers: dict[str, str], verdict: str, reason: str
) -> None:
    """However well the unit did; and what was lowered is on the temporary list, approved."""
    person = good_person()
    person.script |= answers
    person.walk_step(person.walk_to("N2"))
    last = person.visit.job.steps["N2"].last
    assert last is not None
    assert last.verdict == verdict
    assert reason in last.reason
    lowered = [item for item in person.visit.job.temporary.values() if item.added.kind == "setting"]
    assert bool(lowered) is ("N2.lowered" in answers)
    assert all("approved by Piet Exampler" in item.added.why for item in lowered)


def test_r23_without_the_owners_engineer_nothing_is_lowered() -> None:
    """The name is part of the answer."""
    person = good_person()
    person.script |= {"N2.lowered": "20 s; 300 s"}
    with pytest.raises(AnswerError, match="owner's engineer"):
        person.walk_step(person.walk_to("N2"))

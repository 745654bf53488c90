"""Tests of steps and attempts."""

import pytest

from commission.figure import Verdict
from commission.job import bodies
from commission.job.steps import StepState, fold_steps, voided
from tests.energy.way import OLLIE, TESS
from tests.job.told import seen

BEGUN = bodies.StepBegun(step="H2")
GAP = bodies.Answered(step="H2", question="gap", text="0,8 mm", value=0.8, unit="mm")


def concluded(verdict: str = "pass", step: str = "H2") -> bodies.StepConcluded:
    """A verdict on a step."""
    return bodies.StepConcluded(step=step, verdict=verdict)


def folded(*happened: bodies.Body) -> StepState:
    """The state of H2 after these events."""
    steps: dict[str, StepState] = {}
    for n, body in enumerate(happened, start=10):
        steps = dict(fold_steps(steps, seen(body, n)))
    return steps["H2"]


def test_a_step_goes_from_begun_to_answered_to_concluded() -> None:
    """The attempt keeps answers, verdict, who and when."""
    attempt = folded(BEGUN, GAP, concluded()).attempts[0]
    assert (attempt.begun_n, attempt.concluded_n, attempt.verdict, attempt.by) == (10, 12, "pass", TESS)
    assert attempt.answers["gap"].answered == GAP
    assert attempt.counts
    assert not attempt.is_open


def test_a_changed_answer_stands_with_its_own_name() -> None:
    """The latest answer counts while the step is open; the record keeps the earlier one."""
    steps = fold_steps({}, seen(BEGUN, 1))
    steps = fold_steps(steps, seen(GAP, 2))
    again = bodies.Answered(step="H2", question="gap", text="0.9", value=0.9)
    steps = fold_steps(steps, seen(again, 3, OLLIE))
    last = steps["H2"].last
    assert last is not None
    assert (last.answers["gap"].answered.value, last.answers["gap"].by) == (0.9, OLLIE)


def test_every_attempt_is_kept_in_order() -> None:
    """A repeat is a further attempt; a pass after a fail still shows the fail."""
    state = folded(BEGUN, concluded("fail"), BEGUN, concluded("pass"))
    assert [attempt.verdict for attempt in state.attempts] == ["fail", "pass"]
    assert state.done


def test_beginning_an_open_step_again_changes_nothing() -> None:
    """Going back to a step that is open goes on with it."""
    assert len(folded(BEGUN, GAP, BEGUN).attempts) == 1
    assert folded(BEGUN, GAP, BEGUN).attempts[0].answers


@pytest.mark.parametrize("body", [GAP, concluded()], ids=["answer", "verdict"])
@pytest.mark.parametrize("before", [(), (BEGUN, concluded())], ids=["never begun", "concluded"])
def test_a_step_that_is_not_open_takes_nothing(body: bodies.Body, before: tuple[bodies.Body, ...]) -> None:
    """Neither answer nor verdict is taken for a step that is not open."""
    steps: dict[str, StepState] = {}
    for earlier in before:
        steps = dict(fold_steps(steps, seen(earlier)))
    with pytest.raises(ValueError, match="H2 is not open"):
        fold_steps(steps, seen(body))


@pytest.mark.parametrize("verdict", ["", "ok", "PASS", "passed"])
def test_a_verdict_that_is_none_is_refused_at_once(verdict: str) -> None:
    """Only the words of `Verdict` conclude a step: none of them is a blank."""
    with pytest.raises(ValueError, match="Verdict"):
        folded(BEGUN, concluded(verdict))


@pytest.mark.parametrize("verdict", list(Verdict))
def test_a_step_is_done_by_a_verdict_that_needs_no_repeat(verdict: Verdict) -> None:
    """Void, stopped and stopped before motion leave it to be done again."""
    assert folded(BEGUN, concluded(verdict)).done == verdict.counts_as_done


def test_voiding_marks_the_last_concluded_attempt_and_only_once() -> None:
    """What made it void first stays; an open attempt, and another step, are left alone."""
    steps = {"H2": folded(BEGUN, concluded("fail"), BEGUN, concluded()), "B1": folded(BEGUN, concluded())}
    after = voided(voided(steps, frozenset({"H2", "K9"}), "cam moved"), frozenset({"H2"}), "again")
    assert [attempt.voided_by for attempt in after["H2"].attempts] == ["", "cam moved"]
    assert not after["H2"].done
    assert after["B1"].done
    still_open = {"H2": folded(BEGUN, GAP)}
    assert voided(still_open, frozenset({"H2"}), "cam moved") == still_open


def test_a_step_without_attempts_is_not_done() -> None:
    """Nothing is assumed done."""
    assert StepState().last is None
    assert not StepState().done

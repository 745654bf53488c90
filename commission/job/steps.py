"""Fold: steps begun, answered and concluded, every attempt kept."""

from collections.abc import Mapping

import msgspec

from commission.figure import Verdict
from commission.job.bodies import Answered, StepBegun, StepConcluded
from commission.job.fold import Happened


class GivenAnswer(msgspec.Struct, frozen=True):
    """An answer with whose it is and when."""

    answered: Answered
    by: str
    at_utc: str


class Attempt(msgspec.Struct, frozen=True):
    """One go at a step. `verdict` is empty while it is open; `voided_by` says what made a concluded one void."""

    begun_n: int
    at_utc: str
    answers: Mapping[str, GivenAnswer] = {}
    verdict: str = ""
    reason: str = ""
    by: str = ""
    concluded_n: int = 0
    concluded_utc: str = ""
    voided_by: str = ""

    @property
    def is_open(self) -> bool:
        """Whether it waits for its verdict."""
        return not self.verdict

    @property
    def counts(self) -> bool:
        """Whether the step is done by it."""
        return bool(self.verdict) and not self.voided_by and Verdict(self.verdict).counts_as_done


class StepState(msgspec.Struct, frozen=True):
    """All attempts of one step, the first first: the first result stands, repeats are extra."""

    attempts: tuple[Attempt, ...] = ()

    @property
    def last(self) -> Attempt | None:
        """The latest attempt."""
        return self.attempts[-1] if self.attempts else None

    @property
    def done(self) -> bool:
        """Whether the latest attempt counts."""
        return self.last is not None and self.last.counts


def fold_steps(steps: Mapping[str, StepState], seen: Happened) -> Mapping[str, StepState]:
    """
    The steps by id, after one more event.

    Raises:
        ValueError: the step is not open, or the verdict is none.
    """
    event, body = seen.event, seen.body
    match body:
        case StepBegun():
            state = steps.get(body.step, StepState())
            if state.last is not None and state.last.is_open:
                return steps
            attempt = Attempt(event.n, event.at_utc)
            return {**steps, body.step: StepState((*state.attempts, attempt))}
        case Answered():
            given = GivenAnswer(body, event.by, event.at_utc)
            last = _open_attempt(steps, body.step)
            answers = {**last.answers, body.question: given}
            return _with_last(steps, body.step, msgspec.structs.replace(last, answers=answers))
        case StepConcluded():
            last = _open_attempt(steps, body.step)
            concluded = msgspec.structs.replace(
                last,
                verdict=Verdict(body.verdict).value,
                reason=body.reason,
                by=event.by,
                concluded_n=event.n,
                concluded_utc=event.at_utc,
            )
            return _with_last(steps, body.step, concluded)
    return steps


def voided(steps: Mapping[str, StepState], names: frozenset[str], why: str) -> Mapping[str, StepState]:
    """The steps after something they depend on was touched: concluded attempts of `names` become void."""
    after = dict(steps)
    for name in names & steps.keys():
        last = steps[name].last
        if last is not None and last.verdict and not last.voided_by:
            after[name] = StepState((*steps[name].attempts[:-1], msgspec.structs.replace(last, voided_by=why)))
    return after


def _open_attempt(steps: Mapping[str, StepState], name: str) -> Attempt:
    state = steps.get(name)
    if state is None or state.last is None or not state.last.is_open:
        raise ValueError(f"step {name} is not open")
    return state.last


def _with_last(steps: Mapping[str, StepState], name: str, attempt: Attempt) -> Mapping[str, StepState]:
    return {**steps, name: StepState((*steps[name].attempts[:-1], attempt))}

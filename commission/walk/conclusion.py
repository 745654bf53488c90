"""
The verdict of a step, once nothing is pending: from its answers, its runs and their results; the worst wins.

A pass that follows a failed or void attempt, or a value put right in the step itself, says so: pass after adjustment.
A stroke whose stem nobody looked at says so too (safety rule R20). What could not be done is a result of its own, with
its reason; it opens no way for steps that need it.
"""

from collections.abc import Iterable, Iterator

from commission.checklist import Step
from commission.figure import Verdict
from commission.job.answered import answers_of, compute
from commission.job.bodies import Body, ResultDecided, SeriesCompared, StepConcluded
from commission.job.motions import Run
from commission.job.series import compare
from commission.job.state import Job
from commission.job.steps import Attempt, StepState
from commission.walk import acts
from commission.walk.effects import is_none, lowered_limit
from commission.walk.movement import counted_runs

NOT_OBSERVED = "at the actuator; valve not observed"

_WORST_FIRST = (
    Verdict.STOPPED,
    Verdict.FAIL,
    Verdict.NO_TEST,
    Verdict.NOT_DECIDED,
    Verdict.NOT_TESTED,
    Verdict.SIMULATED,
    Verdict.PASS_WATCH,
    Verdict.PASS_AFTER_ADJUSTMENT,
    Verdict.PASS,
    Verdict.NOT_APPLICABLE,
)


class ConclusionError(acts.ActError):
    """The step cannot be concluded so."""


def conclude(job: Job, step: Step) -> tuple[Body, ...]:
    """
    The step's verdict, with what its strokes come to together, and a deviation where they failed.

    Raises:
        ConclusionError: the step is not open.
    """
    attempt = _open(job, step)
    stopped = _stopping_words(step, attempt)
    if stopped:
        return (StepConcluded(step=step.id, verdict=Verdict.STOPPED, reason=stopped),)
    found = (compare(step.id, _runs(job, step, attempt), job.sheet), compute(step, answers_of(step, attempt)))
    compared = tuple(series for series in found if series is not None)
    results = [*_results(job, step, attempt), *(result for series in compared for result in series.results)]
    verdicts = [*_answer_verdicts(step, attempt), *(Verdict(result.verdict) for result in results)]
    verdict = worst(verdicts)
    if verdict is Verdict.PASS and _put_right(job, step, attempt):
        verdict = Verdict.PASS_AFTER_ADJUSTMENT
    reasons = [*_reasons(job, step, attempt), *(words for series in compared for words in _not_together(series))]
    concluded = StepConcluded(step=step.id, verdict=verdict, reason="; ".join(reasons))
    return (*compared, *_deviations(job, step, results), concluded)


def could_not_do(job: Job, step: Step, reason: str) -> tuple[Body, ...]:
    """
    The step is concluded as not tested, with the reason; steps that need it stay closed.

    Raises:
        ConclusionError: no reason, a crossing (it is abandoned instead), or the step is not open.
    """
    if step.crosses:
        raise ConclusionError(f"{step.id} crosses the energy state: complete it, or abandon the crossing")
    if any(question.effect == "signed" for question in step.questions):
        raise ConclusionError("nobody signs by leaving it out")
    if not reason.strip():
        raise ConclusionError("say why it could not be done")
    _open(job, step)
    return (StepConcluded(step=step.id, verdict=Verdict.NOT_TESTED, reason=reason.strip()),)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of several verdicts; pass where there are none to the contrary."""
    given = set(verdicts)
    return next((verdict for verdict in _WORST_FIRST if verdict in given), Verdict.PASS)


def _open(job: Job, step: Step) -> Attempt:
    last = job.steps.get(step.id, StepState()).last
    if last is None or not last.is_open:
        raise ConclusionError(f"{step.id} is not open")
    return last


def _answer_verdicts(step: Step, attempt: Attempt) -> Iterator[Verdict]:
    """A bad answer that was put right in the same step does not fail it."""
    for question in step.questions:
        given = attempt.answers.get(question.id)
        if given is None or not given.answered.verdict:
            continue
        verdict = Verdict(given.answered.verdict)
        if verdict is Verdict.FAIL and _right_now(step, attempt, question.id):
            continue
        yield verdict


def _right_now(step: Step, attempt: Attempt, question: str) -> bool:
    for later in step.questions:
        given = attempt.answers.get(later.id)
        if later.if_bad == question and given is not None:
            return given.answered.verdict == Verdict.PASS or _right_now(step, attempt, later.id)
    return False


def _results(job: Job, step: Step, attempt: Attempt) -> Iterator[ResultDecided]:
    for run in _runs(job, step, attempt):
        yield from run.results


def _runs(job: Job, step: Step, attempt: Attempt) -> tuple[Run, ...]:
    """Each run of this attempt once; a procedure may stand several times in a step."""
    runs = {run.begun.run: run for use in step.procedures for run in counted_runs(job, step, attempt, use)}
    return tuple(runs.values())


def _put_right(job: Job, step: Step, attempt: Attempt) -> bool:
    """Whether something was adjusted between a bad result of this step and this pass."""
    if any(_right_now(step, attempt, question.id) for question in step.questions):
        return True
    earlier = [past for past in job.steps[step.id].attempts if past is not attempt]
    bad = [past for past in earlier if past.verdict == Verdict.FAIL or past.voided_by]
    return any(
        past.concluded_utc <= touched.at_utc <= attempt.at_utc for past in bad for touched in job.contact.adjustments
    )


def _reasons(job: Job, step: Step, attempt: Attempt) -> Iterator[str]:
    looked = {look.direction for look in job.register.stem_looks}
    ends = {use.arguments["direction"] for use in step.procedures if "direction" in use.arguments}
    if ends - looked:
        yield NOT_OBSERVED
    for question in step.questions:
        given = attempt.answers.get(question.id)
        if given is None:
            continue
        if question.effect == "lowered limit" and is_none(given.answered.text):
            continue
        if question.effect == "lowered limit":
            proved_at, read_back, _engineer = lowered_limit(given.answered.text)
            yield f"proved at {proved_at}; set {read_back} read back, not run"
        elif given.answered.verdict == Verdict.SIMULATED:
            yield f"simulated: {given.answered.text}"


def _not_together(together: SeriesCompared) -> Iterator[str]:
    """Why strokes that each passed do not make the step one."""
    for result in together.results:
        if not Verdict(result.verdict).is_good:
            name = result.figure.replace("_", " ")
            yield f"{name} {result.verdict}{f': {result.settles}' if result.settles else ''}"


def _stopping_words(step: Step, attempt: Attempt) -> str:
    for question in step.questions:
        given = attempt.answers.get(question.id)
        if question.stops and given is not None and given.answered.verdict == Verdict.FAIL:
            return f"STOP. {question.stops}"
    return ""


def _deviations(job: Job, step: Step, results: Iterable[ResultDecided]) -> Iterator[Body]:
    """One deviation for the step where runs failed; answers raised theirs when they were given."""
    failed = [result for result in results if result.verdict == Verdict.FAIL]
    if failed:
        first = failed[0]
        limits = f"{first.limit_low or '…'} to {first.limit_high or '…'}"
        yield acts.raise_deviation(
            job,
            step.id,
            f"{first.figure or step.title}: {limits} ({first.origin})" if first.figure else step.title,
            f"{len(failed)} of the runs failed, first {first.test}" if first.figure else f"{first.test}: {first.rule}",
        )

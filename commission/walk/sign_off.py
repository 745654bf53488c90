"""
What blocks signing (trade guide 11.1, last row): nothing temporary on, nothing void, nothing left out unsaid.

The most dangerous list of all comes first. Each blocker names what would settle it.
"""

from collections.abc import Iterator
from datetime import datetime

from commission.checklist import Step
from commission.energy import EnergyState
from commission.figure import Verdict
from commission.job.state import Job
from commission.walk import permit
from commission.walk.movement import open_run
from commission.walk.refusal import Refusal
from commission.walk.route import applicable, is_done


def blockers(job: Job, now: datetime) -> tuple[Refusal, ...]:
    """All that stands against signing now, the most dangerous first; empty where nothing does."""
    return (
        *_temporary(job),
        *_energy(job),
        *_steps(job),
        *_final_stroke(job),
        *_deviations(job),
        *_permit(job, now),
    )


def is_sign_step(step: Step) -> bool:
    """Whether people sign in this step."""
    return any(question.effect == "signed" for question in step.questions)


def _temporary(job: Job) -> Iterator[Refusal]:
    for name, item in job.temporary.items():
        if item.is_on:
            yield Refusal(
                f"Still on: {item.added.what}, {item.added.where} ({name}, by {item.by})",
                "Take it off, prove it, have a second person see it",
            )


def _energy(job: Job) -> Iterator[Refusal]:
    energy = job.energy_log.now
    run = open_run(job)
    if run is not None:
        yield Refusal(f"{run.begun.test} is still open", "Wait for its end, or stop it")
    if energy.state is not EnergyState.IN_OPERATION:
        yield Refusal(f"The unit is {energy.state}, not in operation", "Hand it back first")
    names = {source.id: source.name for source in job.sheet.sources}
    for lock in energy.locks.values():
        where = names.get(lock.source, lock.source)
        yield Refusal(f"{lock.by}'s lock {lock.number} is recorded on {where}", f"{lock.by} removes it")


def _steps(job: Job) -> Iterator[Refusal]:
    for step in applicable(job):
        if is_sign_step(step):
            return
        if step.crosses or is_done(job, step.id):
            continue
        last = job.steps[step.id].last if step.id in job.steps else None
        if last is not None and last.voided_by:
            yield Refusal(f"{step.id} is void: {last.voided_by}", f"Repeat {step.id}")
        elif last is not None and last.is_open:
            yield Refusal(f"{step.id} is half done", f"Finish {step.id}, or say why it could not be done")
        else:
            yield Refusal(f"{step.id} ({step.title}) is not done", f"Do {step.id}, or say why it could not be done")


def _final_stroke(job: Job) -> Iterator[Refusal]:
    """A pass before the last adjustment is not an as-left pass: a stroke that passed comes after the last touch."""
    if not job.contact.adjustments:
        return
    touched = job.contact.adjustments[-1]
    strokes_after = [
        run
        for run in job.runs.values()
        if run.at_utc > touched.at_utc
        and run.ended is not None
        and run.ended.how == "finished"
        and not run.voided_by
        and any(Verdict(decided.verdict).is_good for decided in run.results)
    ]
    if not strokes_after:
        yield Refusal(
            f"No stroke has passed since {touched.adjusted.touched} was touched ({touched.at_utc[11:16]} UTC)",
            "Make the final stroke",
        )


def _deviations(job: Job) -> Iterator[Refusal]:
    for name, deviation in job.deviations.items():
        if deviation.raised.classed == "A" and deviation.accepted is None:
            yield Refusal(
                f"Deviation {name} of {deviation.raised.step} is class A, before start-up: {deviation.raised.found}",
                "Put it right, or have the owner's side accept it",
            )


def _permit(job: Job, now: datetime) -> Iterator[Refusal]:
    refused = permit.refusal(job, now)
    if refused is not None:
        yield refused

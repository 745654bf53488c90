"""
The route: which steps apply to this unit, which one is next, how far the walk has come.

Working steps are walked in the order of the checklist. Crossings are not: they are walked whenever the next working
step belongs to another energy state than the unit is in, by the shortest way over the crossings that the checklist has.
So a defect that sends everybody back to locked needs no plan of its own: afterwards the same rule leads up again.
"""

from collections import deque
from collections.abc import Iterable

import msgspec

from commission.checklist import Step
from commission.energy import EnergyError, EnergyState, crossing_now, stays_locked_live
from commission.figure import Verdict
from commission.job.state import Job
from commission.job.steps import StepState
from commission.walk.conditions import why_not
from commission.walk.way_back import step_back


class PhaseProgress(msgspec.Struct, frozen=True):
    """How far one phase of the walk has come; crossings are not counted."""

    id: str
    name: str
    done: int
    of: int


def applicable(job: Job) -> tuple[Step, ...]:
    """The steps that apply to this unit, in order; those on request only once somebody asked for them."""
    return tuple(
        step
        for step in job.checklist.steps
        if not why_not(step.when, job.sheet) and (not step.on_request or step.id in job.steps)
    )


def on_request(job: Job) -> tuple[Step, ...]:
    """The steps that can be asked for beside the walk, and apply to this unit."""
    return tuple(step for step in job.checklist.steps if step.on_request and not why_not(step.when, job.sheet))


def not_applicable(job: Job) -> dict[str, str]:
    """Why the other steps do not apply, by their id."""
    reasons = {step.id: why_not(step.when, job.sheet) for step in job.checklist.steps}
    return {name: why for name, why in reasons.items() if why}


def is_done(job: Job, name: str) -> bool:
    """Whether the latest attempt at the step counts and is not void."""
    return job.steps.get(name, StepState()).done


def opens_the_way(job: Job, name: str) -> bool:
    """
    Whether other steps that need this one may begin.

    Done is not enough: a step not tested proves nothing, and a failed one only where its deviations were accepted.
    """
    last = job.steps.get(name, StepState()).last
    if last is None or not last.counts or last.verdict == Verdict.NOT_TESTED:
        return False
    if last.verdict != Verdict.FAIL:
        return True
    raised = [deviation for deviation in job.deviations.values() if deviation.raised.step == name]
    return bool(raised) and all(deviation.accepted is not None for deviation in raised)


def open_step(job: Job) -> Step | None:
    """The step that was begun last and has no verdict yet."""
    waiting = [
        (state.last.begun_n, name) for name, state in job.steps.items() if state.last is not None and state.last.is_open
    ]
    known = {step.id: step for step in job.checklist.steps}
    for _number, name in sorted(waiting, reverse=True):
        if name in known:
            return known[name]
    return None


def next_working_step(job: Job) -> Step | None:
    """The next step that is not a crossing and not done, or is void; None at the end."""
    for step in applicable(job):
        if not step.crosses and not is_done(job, step.id):
            return step
    return None


def current(job: Job) -> Step | None:
    """
    The step to be walked now, or None at the end.

    The open step, else the next working step in order; but first a crossing where either belongs to another energy
    state, and first what the open step needs where that became void meanwhile. Before all of them, where a stroke
    left the valve off its end, the step that brings it back.
    """
    back = step_back(job)
    if back:
        return way_to(job, job.checklist.step(back))
    begun = open_step(job)
    if begun is None:
        ahead = next_working_step(job)
        return None if ahead is None else way_to(job, ahead)
    if begun.crosses:
        return begun if job.energy_log.now.state in (begun.state, begun.crosses) else way_to(job, begun)
    for name in begun.needs:
        if not is_done(job, name) and not why_not(job.checklist.step(name).when, job.sheet):
            return way_to(job, job.checklist.step(name))
    return way_to(job, begun)


def way_to(job: Job, step: Step) -> Step:
    """The step itself, or the first crossing on the way to the energy state it belongs to."""
    now = job.energy_log.now.state
    if step.crosses:
        wanted = EnergyState(step.crosses)
        if now in (step.state, wanted):
            return step
    elif step.state in ("any", now):
        return step
    else:
        wanted = EnergyState(step.state)
    path = crossings_to(job, wanted)
    return path[0] if path else step


def crossings_from(job: Job) -> tuple[Step, ...]:
    """The crossings that can be begun from the energy state the unit is in, as for a defect that needs hands in."""
    return tuple(step for step in _crossing_steps(job) if _may_be_crossed(job, step, job.energy_log.now.state))


def crossings_to(job: Job, wanted: EnergyState) -> tuple[Step, ...]:
    """The shortest way to an energy state over the checklist's crossings; empty where there is none, or no need."""
    start = job.energy_log.now.state
    reached: dict[EnergyState, tuple[Step, ...]] = {start: ()}
    waiting = deque([start])
    while waiting:
        here = waiting.popleft()
        for step in _crossing_steps(job):
            there = EnergyState(step.crosses or here)
            if there not in reached and _may_be_crossed(job, step, here):
                reached[there] = (*reached[here], step)
                waiting.append(there)
    return reached.get(wanted, ())


def progress(job: Job) -> tuple[PhaseProgress, ...]:
    """Each phase that has working steps, with how many of them are done."""
    working = [step for step in applicable(job) if not step.crosses]
    return tuple(
        PhaseProgress(phase.id, phase.name, sum(is_done(job, step.id) for step in steps), len(steps))
        for phase in job.checklist.phases
        if (steps := [step for step in working if step.phase == phase.id])
    )


def _crossing_steps(job: Job) -> Iterable[Step]:
    """Crossings, those not walked yet before those that were, so that each of the checklist's own gets its turn."""
    crossings = [step for step in applicable(job) if step.crosses]
    return sorted(crossings, key=lambda step: is_done(job, step.id))


def _may_be_crossed(job: Job, step: Step, source: EnergyState) -> bool:
    """Whether the step leads out of `source`; out of where the unit is now, also whether the locks allow it."""
    energy = job.energy_log.now
    if step.state != source or step.crosses is None:
        return False
    if source is not energy.state:
        return True
    target = EnergyState(step.crosses)
    try:
        crossing_now(energy, target)
    except EnergyError:
        return False
    if source is not EnergyState.UNKNOWN or target not in (EnergyState.LIVE, EnergyState.IN_OPERATION):
        return True
    kept = {source.id for source in job.sheet.sources if stays_locked_live(source, job.sheet)}
    return not energy.locks.keys() - (kept if target is EnergyState.LIVE else set())

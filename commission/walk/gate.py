"""
May this step begin, or go on, now? The checks in the order in which a person wants to hear of them.

1. The record can be written, and no motion is open.
2. The step applies to this unit, no other step is half done, and what it needs is done and not void.
3. The energy state is the step's (rules R2, R3): unknown counts as live for hands and as locked for writes.
4. Hands inside a cover only while locked (R5).
5. Nothing moves past a recorded lock; the dump is not blocked; a normally closed vent has its upstream isolation
   recorded locked shut (R1).
6. What moves can be brought back: the unit still allows a motor start.
7. The permit is in force, and long enough for the movement (R7). Making the unit safe never asks for it.
8. The unit answers, where something is read from it or commanded.
"""

from collections.abc import Callable
from datetime import datetime

from commission.checklist import LOOKS, Access, Step
from commission.energy import EnergyState, stays_locked_live
from commission.job.state import Job
from commission.walk import budget, permit, sign_off
from commission.walk.conditions import why_not
from commission.walk.movement import open_run, step_longest_s
from commission.walk.refusal import Refusal
from commission.walk.route import applicable, crossings_to, is_done, open_step, opens_the_way

BLOCKED_DUMP = "blocked-solenoid"
"""Kind of the temporary thing that keeps the dump valve from opening."""

_HANDS_INSIDE = (Access.INSIDE, Access.FITTED_WHILE_LOCKED)
_ENERGISING = {
    EnergyState.PUMPING: (EnergyState.LOCKED,),
    EnergyState.CONTROL: (EnergyState.LOCKED,),
    EnergyState.LIVE: (EnergyState.CONTROL, EnergyState.IN_OPERATION),
    EnergyState.LOCKED: (EnergyState.IN_OPERATION,),
}
"""Crossings that begin work under the permit; the others lead back to where the unit is safer or is handed back."""


def refusal(job: Job, step: Step, now: datetime) -> Refusal | None:
    """
    Why this step may not begin, or go on, now; None where it may.

    Args:
        job: Where the visit stands.

        step: A step of the job's checklist.

        now: UTC.
    """
    checks: tuple[Callable[[], Refusal | None], ...] = (
        lambda: _record(job),
        lambda: _motion(job),
        lambda: _applies(job, step),
        lambda: _another_open(job, step),
        lambda: _needs(job, step),
        lambda: _energy(job, step),
        lambda: _hands(job, step),
        lambda: _locks(job, step),
        lambda: _blocked_dump(job, step),
        lambda: budget.refusal(job, step, now),
        lambda: _permit(job, step, now),
        lambda: _contact(job, step),
        lambda: _signing(job, step, now),
    )
    return next((refused for check in checks if (refused := check()) is not None), None)


def moves(step: Step) -> bool:
    """Whether the valve moves, or may move, by what the step itself does while live."""
    commands = any(use.name not in LOOKS for use in step.procedures)
    return commands or (step.moves and step.state == "live" and not step.crosses)


def meanwhile(job: Job, now: datetime) -> Step | None:
    """
    A step that can be done while another one has to wait: of this energy state, moving nothing, and no close-out.

    What closes a visit out is said of all that came before it, so it is never taken out of its order.
    """
    close_out = job.checklist.phases[-1].id
    for step in applicable(job):
        same_state = step.state == job.energy_log.now.state and not step.crosses and step.phase != close_out
        if same_state and not is_done(job, step.id) and not moves(step) and refusal(job, step, now) is None:
            return step
    return None


def _record(job: Job) -> Refusal | None:
    if not job.read_only:
        return None
    return Refusal(f"This job can only be read here: {job.read_only}", "Open it with the program that wrote it")


def _motion(job: Job) -> Refusal | None:
    run = open_run(job)
    return None if run is None else Refusal(f"{run.begun.test} is still open", "Wait for its end, or stop it")


def _applies(job: Job, step: Step) -> Refusal | None:
    why = why_not(step.when, job.sheet)
    return Refusal(f"{step.id} does not apply: {why}") if why else None


def _another_open(job: Job, step: Step) -> Refusal | None:
    begun = open_step(job)
    if begun is None or begun.id == step.id or step.crosses or step.on_request or step.id in begun.needs:
        return None
    return Refusal(f"{begun.id} is half done", f"Finish {begun.id}, or say why it could not be done")


def _needs(job: Job, step: Step) -> Refusal | None:
    for name in step.needs:
        needed = job.checklist.step(name)
        if why_not(needed.when, job.sheet) or opens_the_way(job, name):
            continue
        if needed.crosses and job.energy_log.now.state == needed.crosses:
            continue
        last = job.steps[name].last if name in job.steps else None
        if last is not None and last.verdict and step.crosses == "locked":
            continue  # making it safe waits for what comes first, but not for its success
        if last is not None and last.voided_by:
            return Refusal(f"{name} is void: {last.voided_by}", f"Repeat {name}")
        if last is not None and last.verdict:
            reason = f": {last.reason}" if last.reason else ""
            return Refusal(f"{step.id} needs {name}, which is {last.verdict!r}{reason}", f"Repeat {name}")
        return Refusal(f"{step.id} needs {name} ({needed.title}) first", f"Go to {name}")
    return None


def _energy(job: Job, step: Step) -> Refusal | None:
    energy = job.energy_log.now
    if step.crosses:
        crossed = step.id in job.steps and energy.state == step.crosses
        if energy.state == step.state or crossed:
            return None
        return Refusal(f"{step.id} leads out of {step.state}; the unit is {energy.state}", _way(job, step.state))
    if energy.target is not None and energy.target is not energy.state and step.state != "any":
        return Refusal(f"The crossing to {energy.target} is not complete", "Complete it, or abandon it")
    if step.state in ("any", energy.state):
        return None
    if energy.state is EnergyState.UNKNOWN:
        counts = "counts as live for hands and as locked for writes"
        return Refusal(f"The energy state is unknown ({energy.reason}): it {counts}", _way(job, step.state))
    return Refusal(f"{step.id} belongs to {step.state}; the unit is {energy.state}", _way(job, step.state))


def _way(job: Job, wanted: str) -> str:
    if wanted in ("any", EnergyState.UNKNOWN):
        return ""
    path = crossings_to(job, EnergyState(wanted))
    return (
        "First " + ", ".join(step.id for step in path) if path else f"No crossing of this checklist leads to {wanted}"
    )


def _hands(job: Job, step: Step) -> Refusal | None:
    energy = job.energy_log.now
    state = energy.state
    if step.access in _HANDS_INSIDE and not energy.hands_may_go_in:
        return Refusal(f"STOP. Hands may not go in: the unit is {state}, not locked", _way(job, EnergyState.LOCKED))
    if step.access is Access.QUALIFIED_CONTROL and state not in (EnergyState.CONTROL, EnergyState.LOCKED):
        return Refusal(
            f"STOP. Terminals only in control, by a qualified person: the unit is {state}",
            _way(job, EnergyState.CONTROL),
        )
    return None


def _locks(job: Job, step: Step) -> Refusal | None:
    if not moves(step):
        return None
    locks = job.energy_log.now.locks
    kept = {source.id: source for source in job.sheet.sources if stays_locked_live(source, job.sheet)}
    pulse_only = step.state == "control"
    recorded_on = [lock for name, lock in locks.items() if name not in kept]
    if recorded_on and not pulse_only:
        lock = recorded_on[0]
        return Refusal(
            f"STOP. {lock.by}'s lock {lock.number} is recorded on {lock.source}", "Nothing moves past a lock"
        )
    if job.sheet.valve.normally_closed_vent and not pulse_only and not (kept.keys() & locks.keys()):
        return Refusal(
            "STOP. This valve is a normally closed vent, and its upstream isolation is not recorded locked shut",
            "Isolate upstream, lock it shut and record the lock",
        )
    return None


def _blocked_dump(job: Job, step: Step) -> Refusal | None:
    blocked = next((item for item in job.temporary.values() if item.is_on and item.added.kind == BLOCKED_DUMP), None)
    energises = step.crosses in (EnergyState.CONTROL, EnergyState.LIVE, EnergyState.IN_OPERATION)
    if blocked is None or not (energises or moves(step)):
        return None
    return Refusal(
        f"STOP. {blocked.added.what} is blocked ({blocked.added.where}): ESD cannot bring the valve home",
        "Take the block off and off the temporary list",
    )


def _permit(job: Job, step: Step, now: datetime) -> Refusal | None:
    energises = bool(step.crosses) and step.state in _ENERGISING.get(EnergyState(step.crosses or "unknown"), ())
    hands = step.access is not Access.OUTSIDE
    if not (energises or hands or moves(step) or (step.moves and not step.crosses)):
        return None
    if step.crosses and not energises:
        return None
    return permit.refusal(job, now, step_longest_s(job.sheet, step) if moves(step) else 0.0)


def needs_line(job: Job, step: Step) -> bool:
    """Whether the step runs a procedure or reads the unit, as far as its questions are for this unit."""
    asked = (question for question in step.questions if not why_not(question.when, job.sheet))
    return bool(step.procedures) or any(question.kind == "measured" for question in asked)


def _contact(job: Job, step: Step) -> Refusal | None:
    if job.contact.up or not needs_line(job, step):
        return None
    what = "commanded" if step.procedures else "read from the unit"
    return Refusal(f"{step.id} is {what}, and the unit does not answer: {job.contact.reason}", "Connect to the unit")


def _signing(job: Job, step: Step, now: datetime) -> Refusal | None:
    if not any(question.effect == "signed" for question in step.questions):
        return None
    return next(iter(sign_off.blockers(job, now)), None)

"""What a person may ask for beside answering, the same on both faces: another state, a step not done, who types."""

from commission.checklist import Step
from commission.energy import EnergyState
from commission.job.bodies import PersonAdded, StepBegun
from commission.visit import Visit
from commission.walk import acts, gate, route
from commission.walk.conclusion import could_not_do


def ways(visit: Visit) -> tuple[EnergyState, ...]:
    """The energy states that a crossing of the checklist leads to from here, each once."""
    return tuple(dict.fromkeys(EnergyState(step.crosses) for step in route.crossings_from(visit.job) if step.crosses))


def cross_to(visit: Visit, target: str, by: str) -> Step:
    """
    Begin a crossing although another step is due, as for a defect that needs hands in.

    Returns:
        The step that was begun.

    Raises:
        ValueError: no crossing leads there from here, or none may begin now; the message says what settles it.
    """
    wanted = [step for step in route.crossings_from(visit.job) if step.crosses == target]
    if not wanted:
        raise ValueError(f"from here one crosses to: {', '.join(sorted(ways(visit))) or 'nowhere'}")
    refusals = [gate.refusal(visit.job, step, visit.clock.utc()) for step in wanted]
    found = next((step for step, refusal in zip(wanted, refusals, strict=True) if refusal is None), None)
    if found is None:
        raise ValueError(f"{wanted[0].id} may not begin. {refusals[0]}")
    visit.record(StepBegun(step=found.id, cautions=found.cautions), by)
    return found


def abandon(visit: Visit, reason: str, by: str) -> None:
    """
    Do not complete the crossing under way; the state is unknown then.

    Raises:
        ActError: none is under way, or no reason is given.
    """
    visit.record(acts.abandon_crossing(visit.job, reason), by)


def not_done(visit: Visit, step: Step, reason: str, by: str) -> None:
    """
    A step could not be done; why stays in the record.

    Raises:
        ValueError: no reason, or it cannot be left out.
    """
    if not reason.strip():
        raise ValueError("say why it could not be done, as: no loop calibrator on site")
    state = visit.job.steps.get(step.id)
    if state is None or state.last is None or not state.last.is_open:
        visit.record(StepBegun(step=step.id, cautions=step.cautions), by)
    visit.record_all(could_not_do(visit.job, step, reason.strip()), by)


def person(visit: Visit, text: str) -> str:
    """
    Somebody is at the keyboard from here; their name.

    Args:
        visit: The open visit.

        text: `name, role`.

    Raises:
        ValueError: no name.
    """
    name, _, role = (part.strip() for part in text.partition(","))
    if not name:
        raise ValueError("name and role, as: T. Placeholder, technician")
    known = visit.job.register.people.get(name)
    if role or known is None:
        visit.record(PersonAdded(name=name, role=role or "on site"), name)
    return name

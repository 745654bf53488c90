"""Looks at settings, counters and selector whenever live is entered or left, so that a change by others is found."""

from commission.energy import EnergyState
from commission.job.bodies import Body, EnergyBegun, EnergyEntered
from commission.visit.open_job import VisitError
from commission.visit.visit import Visit
from commission.walk.changed import looked, roles_of

ENTERING, LEAVING = "on entering live", "on leaving live"


def looks_when(visit: Visit, bodies: tuple[Body, ...]) -> str:
    """Whether what is about to be recorded enters or leaves live, in words; empty where it does neither."""
    energy = visit.job.energy_log.now
    for body in bodies:
        if isinstance(body, EnergyEntered) and body.state == EnergyState.LIVE:
            return ENTERING
        if isinstance(body, EnergyBegun) and energy.state is EnergyState.LIVE and energy.target is None:
            return LEAVING
    return ""


async def look(visit: Visit, when: str) -> None:
    """
    Read what `roles_of` names, and record it with every change that nobody here made.

    Where the unit does not answer nothing is recorded: contact lost is said by itself, and the last look stands.
    """
    roles = roles_of(visit.job.sheet)
    if not roles or visit.link is None:
        return
    try:
        readings = await visit.read(roles)
    except VisitError:
        return
    values = {role: readings.by_role[role].value for role in roles if role in readings.by_role}
    visit.record_all(looked(visit.job, when, values), "program")

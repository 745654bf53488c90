"""
What a person may do at any moment, whatever step is open: each gives the events that it makes.

Something temporary put on or taken off, something adjusted, a gas alarm, a crossing abandoned, a deviation raised or
accepted. An act that lacks what an auditor would ask for is refused.
"""

from commission.energy import EnergyState
from commission.job.bodies import (
    Adjusted,
    Body,
    DeviationAccepted,
    DeviationRaised,
    EnergyLost,
    LeaveWithdrawn,
    TemporaryAdded,
    TemporaryRemoved,
)
from commission.job.state import Job

GAS_ALARM = "gas alarm"
GAS_ALARM_WORDS = (
    "GAS ALARM. Leave now, to the muster point, upwind. Do not unplug anything. Everything is stored. The energy state "
    "is unknown until it is proved again"
)


class ActError(ValueError):
    """The act lacks something; nothing has changed."""


def temporary_on(job: Job, kind: str, what: str, where: str, why: str) -> TemporaryAdded:
    """
    Something temporary is on, from now until it is proved off.

    Raises:
        ActError: the kind is not known, or what, where or why is empty.
    """
    if kind not in job.checklist.temporary:
        raise ActError(f"{kind!r} is no kind of temporary thing; kinds are {', '.join(job.checklist.temporary)}")
    for name, said in (("what", what), ("where", where), ("why", why)):
        if not said.strip():
            raise ActError(f"a temporary thing needs {name}, as: jumper; terminals TB-3 4 to 5; to hold the ESD loop")
    number = 1 + len(job.temporary)
    return TemporaryAdded(id=f"T{number}", kind=kind, what=what.strip(), where=where.strip(), why=why.strip())


def temporary_off(job: Job, item: str, second_person: str, proved_by: str, by: str) -> TemporaryRemoved:
    """
    Something temporary is off again.

    Raises:
        ActError: it is not on, or the second person or the proof is missing, or is the same person.
    """
    if item not in job.temporary or not job.temporary[item].is_on:
        raise ActError(f"{item!r} is not on the temporary list")
    if not second_person.strip() or not proved_by.strip():
        raise ActError("a second person and what proves that it is back, as: O. Sampleton, alarm returned at 15:41")
    if _same_person(second_person, by):
        raise ActError(f"{second_person.strip()} cannot be the second person to their own act")
    return TemporaryRemoved(id=item, second_person=second_person.strip(), proved_by=proved_by.strip())


def adjusted(job: Job, touched: str, detail: str) -> Adjusted:
    """
    Something was touched; what depends on it becomes void, and `would_void` says beforehand what.

    Raises:
        ActError: it is not in the checklist's table, or nothing says what was done.
    """
    if touched not in job.checklist.voids:
        raise ActError(f"{touched!r} is not in the table of what an adjustment makes void")
    if not detail.strip():
        raise ActError("say what was done, with values before and after, as: needle from 2 to 1¾ turns")
    return Adjusted(touched=touched, detail=detail.strip())


def would_void(job: Job, touched: str) -> tuple[str, ...]:
    """Ids of the steps whose results become void when this is touched, as far as they have any."""
    if touched not in job.checklist.voids:
        return ()
    after = job.checklist.made_void(touched)
    return tuple(
        step.id for step in job.checklist.steps if step.id in after and step.id in job.steps and job.steps[step.id].done
    )


def gas_alarm(job: Job) -> tuple[Body, ...]:
    """A gas alarm: the state is unknown, leave is gone (safety rule R7). Stopping a motion is the supervisor's part."""
    withdrawn: tuple[Body, ...] = ()
    if job.contact.leave is not None:
        withdrawn = (LeaveWithdrawn(test=job.contact.leave.test, reason=GAS_ALARM),)
    return (*withdrawn, EnergyLost(reason=GAS_ALARM))


def abandon_crossing(job: Job, reason: str) -> EnergyLost:
    """
    The crossing under way is not completed: what the unit is now has to be proved again.

    Raises:
        ActError: no crossing is under way, or no reason is given.
    """
    target = job.energy_log.now.target
    if target is None or job.energy_log.now.state is EnergyState.UNKNOWN:
        raise ActError("no crossing is under way that could be abandoned")
    if not reason.strip():
        raise ActError("say why the crossing is not completed")
    return EnergyLost(reason=f"the crossing to {target} was abandoned: {reason.strip()}")


def raise_deviation(
    job: Job, step: str, required: str, found: str, *, risk: str = "", classed: str = "B"
) -> DeviationRaised:
    """
    Something is not as it should be.

    Raises:
        ActError: what was found is empty, or the class is not A, B or C.
    """
    if not found.strip():
        raise ActError("say what was found")
    if classed not in ("A", "B", "C"):
        raise ActError(f"class A (before start-up), B (by a date) or C (a note), not {classed!r}")
    number = 1 + len(job.deviations)
    return DeviationRaised(
        id=f"D{number}", step=step, required=required.strip(), found=found.strip(), risk=risk, classed=classed
    )


def accept_deviation(job: Job, deviation: str, who: str, reason: str) -> DeviationAccepted:
    """
    The owner's side accepts a deviation; it stays in the record.

    Raises:
        ActError: there is no such deviation, it is accepted already, or name or reason is missing.
    """
    known = job.deviations.get(deviation)
    if known is None or known.accepted is not None:
        raise ActError(f"{deviation!r} is no deviation that waits for acceptance")
    if not who.strip() or not reason.strip():
        raise ActError("who of the owner's side accepts it, and why, as: P. Exampler, spare part on order")
    return DeviationAccepted(id=deviation, reason=f"{who.strip()}: {reason.strip()}")


def _same_person(one: str, other: str) -> bool:
    return " ".join(one.lower().split()) == " ".join(other.lower().split())

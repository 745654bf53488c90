"""
Which command points were proved: pulsed in control, at zero pressure, and their effect seen (safety rule R8).

Nobody's list of addresses is believed: a person names the command points, the pulse proves them.
"""

from collections.abc import Iterable

from commission.checklist.model import PULSE
from commission.figure import Verdict
from commission.job.motions import Run
from commission.job.state import Job
from commission.sheet import WriteClass


def proved_commands(job: Job) -> frozenset[str]:
    """
    Roles of the command points whose effect was seen in control; a changed map or wire makes them void.

    A re-test begins with those that the earlier job proved, as long as nothing of it was touched since.
    """
    earlier = job.history.earlier
    taken = () if earlier is None or job.contact.adjustments else earlier.proved
    return frozenset(taken) | {role for run in job.runs.values() if _proves(run) for role in run.begun.commands}


def not_proved(job: Job, roles: Iterable[str]) -> tuple[str, ...]:
    """Those of these roles that move the valve and were not proved."""
    proved = proved_commands(job)
    return tuple(role for role in roles if role not in proved and is_motion(job, role))


def is_motion(job: Job, role: str) -> bool:
    """Whether writing this point may move the valve. A point without a named class counts as one that does."""
    point = job.sheet.point(role)
    return point is None or point.write in (None, WriteClass.MOTION)


def _proves(run: Run) -> bool:
    finished = run.ended is not None and run.ended.how == "finished"
    seen = any(decided.verdict == Verdict.PASS for decided in run.results)
    return run.begun.procedure == PULSE and finished and seen and not run.voided_by

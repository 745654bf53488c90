"""
Which command points were proved: pulsed in control, at zero pressure, and their effect seen (safety rule R8).

Nobody's list of addresses is believed: a person names the command points, the pulse proves them.
"""

from collections.abc import Iterable

from commission.job.state import Job
from commission.sheet import WriteClass


def not_proved(job: Job, roles: Iterable[str]) -> tuple[str, ...]:
    """Those of these roles that move the valve and whose pulse in control was not seen to act."""
    return tuple(role for role in roles if role not in job.contact.proved and is_motion(job, role))


def is_motion(job: Job, role: str) -> bool:
    """Whether writing this point may move the valve. A point without a named class counts as one that does."""
    point = job.sheet.point(role)
    return point is None or point.write in (None, WriteClass.MOTION)

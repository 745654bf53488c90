"""The paper permit to work: whether it is in force, and how many minutes are left (safety rule R7)."""

from datetime import datetime

from commission.job.state import Job
from commission.walk.refusal import Refusal

MARGIN_S = 60.0
"""A movement is over this long before the permit ends: it must also be made safe (common practice, no source)."""


def seconds_left(job: Job, now: datetime) -> float | None:
    """Seconds until the permit ends, negative after its end; None where no permit is recorded."""
    permit = job.register.permit
    return None if permit is None else (datetime.fromisoformat(permit.until_utc) - now).total_seconds()


def minutes_left(job: Job, now: datetime) -> int | None:
    """Whole minutes until the permit ends, rounded down; None where no permit is recorded."""
    left_s = seconds_left(job, now)
    return None if left_s is None else int(left_s // 60)


def refusal(job: Job, now: datetime, longest_s: float = 0.0) -> Refusal | None:
    """
    Why the permit does not cover what is to begin now, or None.

    Args:
        job: Where the visit stands.

        now: UTC.

        longest_s: Longest that a movement may take; 0 where nothing moves.
    """
    left_s = seconds_left(job, now)
    if left_s is None:
        return Refusal("No permit to work is recorded", "Record the permit first")
    number = job.register.permits[-1].number
    if left_s <= 0:
        return Refusal(f"Permit {number} has ended", "Leave the unit safe; have the permit extended and record it")
    if longest_s and left_s < longest_s + MARGIN_S:
        return Refusal(
            f"The permit ends in {left_s / 60:.0f} min and this movement may take {longest_s / 60:.1f} min",
            "Have the permit extended and record it",
        )
    return None

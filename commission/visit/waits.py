"""A wait at a practice unit, shortened: time passes there and here by the same, and the record says so."""

from commission.job.bodies import WaitShortened
from commission.supervise.passing import AtUnit
from commission.visit.open_job import VisitError
from commission.visit.visit import Visit


def may_pass(visit: Visit) -> bool:
    """Whether time may be skipped now: nothing runs, or a test that waits for nothing but time."""
    begun = None if visit.supervisor is None else visit.supervisor.begun
    return not visit.in_motion or (begun is not None and begun.only_waits)


async def let_pass(visit: Visit, seconds: float, at_unit: AtUnit, step: str, by: str) -> None:
    """
    Let time pass at the unit and in the program by the same; in a test a minute at a time, each read into.

    Args:
        visit: The open visit.

        seconds: Unit time.

        at_unit: Lets it pass there; what it raises is raised here, and what passed until then is recorded.

        step: Id of the step on which it was done.

        by: Who did it.

    Raises:
        VisitError: a test runs in which time passes by itself.
    """
    if not may_pass(visit):
        raise VisitError("while a test runs, time passes by itself")
    if not visit.in_motion or visit.supervisor is None:
        await at_unit(seconds)
        visit.clock.skip(seconds)
        visit.record(WaitShortened(step=step, seconds=seconds), by)
        return
    passing = visit.supervisor.let_pass(seconds, at_unit)
    if passing is None:
        raise VisitError("time is passing already")
    try:
        await passing.wait()
    finally:
        if passing.passed_s:
            visit.record(WaitShortened(step=step, seconds=passing.passed_s), by)

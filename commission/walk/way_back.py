"""
The way back after a partial stroke that ended off its end: stopped by the stop key, taken over, or not seen home.

Leave for it has ended with its test, so nothing may be sent; the walk leads to the step that brings the valve back, a
movement of its own with count and go, before anything else.
"""

from commission.analysis.partial_limits import HOME_WITHIN
from commission.checklist.model import LOOKS, PULSE
from commission.figure import Verdict
from commission.job.motions import Run
from commission.job.state import Job
from commission.walk.partial import PARTIAL

BRING_BACK = "bring_back"


def off_its_end(job: Job) -> Run | None:
    """
    The partial stroke since which the valve stands off its end, as far as the record knows; None where none left it.

    It is back after a run that brought it back, after any other movement, which has a result of its own, and where
    somebody concluded the step for it, as when it was brought back by local control.
    """
    for run in reversed(list(job.runs.values())):
        if run.begun.procedure == PULSE or run.begun.procedure in LOOKS:
            continue
        if run.begun.procedure == PARTIAL:
            return run if _left_off(run) and not _settled_since(job, run) else None
        if run.begun.procedure != BRING_BACK or any(Verdict(result.verdict).is_good for result in run.results):
            return None
    return None


def step_back(job: Job) -> str:
    """Id of the step that brings the valve back, where it stands off its end; empty where none is needed, or known."""
    if off_its_end(job) is None:
        return ""
    steps = (step.id for step in job.checklist.steps if any(use.name == BRING_BACK for use in step.procedures))
    return next(steps, "")


def _left_off(run: Run) -> bool:
    """Whether a partial stroke went out and was not seen home."""
    if run.ended is None or run.ended.how == "no test" or not any(sent.purpose == "procedure" for sent in run.sent):
        return False
    if run.ended.how == "finished":
        final = run.figure("final_travel")
        return final is not None and float(final.value) > HOME_WITHIN
    last = run.sent[-1]
    returned = last.purpose == "safe end" and last.role != "command_stop"
    return not (returned and run.ended.safe_end == "confirmed")


def _settled_since(job: Job, run: Run) -> bool:
    """Whether a step that brings it back was concluded after the run, by whatever it came to."""
    names = {step.id for step in job.checklist.steps if any(use.name == BRING_BACK for use in step.procedures)}
    attempts = (attempt for name in names if name in job.steps for attempt in job.steps[name].attempts)
    return any(attempt.begun_n > run.n and not attempt.is_open for attempt in attempts)

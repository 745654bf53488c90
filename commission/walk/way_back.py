"""
The way back after a stroke that ended off its end: stopped by the stop key, taken over, or not seen home.

Leave for it has ended with its test, so nothing may be sent, and from midway no stroke can be timed; the walk leads to
the step that brings the valve back to where the stroke began, a movement of its own with count and go, before anything
else.
"""

from collections.abc import Iterator

from commission.analysis.partial_limits import HOME_WITHIN
from commission.checklist import ProcedureUse, Step
from commission.checklist.model import BRING_BACK, LOOKS, PULSE
from commission.figure import Verdict
from commission.job.motions import Run
from commission.job.state import Job
from commission.sheet import End
from commission.walk.partial import PARTIAL

FULL = "full_stroke"
_AFTER = "after"
"""Argument of `bring_back` in a checklist: the procedure whose strokes it is for, where these are not partial."""


def off_its_end(job: Job) -> Run | None:
    """
    The stroke since which the valve stands off its end, as far as the record knows; None where none left it.

    It is back after a run that brought it back, after any other movement, which has a result of its own, and where
    somebody concluded the step for it, as when it was brought back by local control.
    """
    for run in reversed(list(job.runs.values())):
        name = run.begun.procedure
        if name == PULSE or name in LOOKS or (name in (PARTIAL, FULL) and not _commanded(run)):
            continue
        if name in (PARTIAL, FULL):
            return run if _left_off(run) and not _settled_since(job, run) else None
        if name != BRING_BACK or any(Verdict(result.verdict).is_good for result in run.results):
            return None
    return None


def not_seen_home(run: Run) -> bool:
    """Whether a full stroke was watched for its longest time and stands off the end that it was to reach."""
    final = run.figure("final_travel")
    if run.begun.procedure != FULL or final is None:
        return False
    reached = 1.0 if run.begun.arguments["direction"] == End.OPEN else 0.0
    return abs(float(final.value) - reached) > HOME_WITHIN


def step_back(job: Job) -> str:
    """Id of the step that brings the valve back, where it stands off its end; empty where none is needed, or known."""
    run = off_its_end(job)
    return "" if run is None else next((step.id for step in _steps_after(job, run)), "")


def end_back(job: Job, use: ProcedureUse) -> dict[str, str]:
    """The argument that tells where to bring it back to: where a full stroke that was cut short began, else empty."""
    run = off_its_end(job)
    if run is None or run.begun.procedure != FULL or use.arguments.get(_AFTER) != FULL:
        return {}
    went_to = End(run.begun.arguments["direction"])
    return {"end": (End.CLOSED if went_to is End.OPEN else End.OPEN).value}


def _steps_after(job: Job, run: Run) -> Iterator[Step]:
    """The steps of the checklist that bring the valve back after such a stroke."""
    for step in job.checklist.steps:
        uses = (use for use in step.procedures if use.name == BRING_BACK)
        if any(use.arguments.get(_AFTER, PARTIAL) == run.begun.procedure for use in uses):
            yield step


def _commanded(run: Run) -> bool:
    return run.ended is not None and any(sent.purpose == "procedure" for sent in run.sent)


def _left_off(run: Run) -> bool:
    """Whether a stroke that was commanded ended somewhere else than where it should."""
    if run.ended is None or run.ended.how == "no test":
        return False
    if run.begun.procedure == FULL:  # one that went on to its end by itself is not where it began either
        return run.ended.how != "finished" or not_seen_home(run)
    if run.ended.how == "finished":
        final = run.figure("final_travel")
        return final is not None and float(final.value) > HOME_WITHIN
    last = run.sent[-1]
    returned = last.purpose == "safe end" and last.role != "command_stop"
    return not (returned and run.ended.safe_end == "confirmed")


def _settled_since(job: Job, run: Run) -> bool:
    """Whether a step that brings it back was concluded after the run, by whatever it came to."""
    names = {step.id for step in _steps_after(job, run)}
    attempts = (attempt for name in names if name in job.steps for attempt in job.steps[name].attempts)
    return any(attempt.begun_n > run.n and not attempt.is_open for attempt in attempts)

"""One stroke instead of the whole walk: which step it is, the way there, and the way back into operation."""

from commission.checklist import Step
from commission.energy import EnergyState
from commission.job.state import Job
from commission.sheet import End
from commission.visit import VisitError
from commission.walk import route

_STROKES = ("full_stroke", "watched_stroke")


class Goals:
    """
    The steps of one stroke, in order: crossings to its state, the stroke, crossings back.

    Args:
        job: Where the visit stands at the beginning.

        direction: The end to go to.

    Raises:
        VisitError: the job's checklist has no such stroke.
    """

    def __init__(self, job: Job, direction: End) -> None:
        offered = (*route.on_request(job), *route.applicable(job))
        found = next((step for step in offered if _strokes(step, direction)), None)
        if found is None:
            raise VisitError(f"the checklist of this job has no timed stroke to {direction}")
        self._step = found
        self._concluded_before = _concluded(job, found)

    def step(self, job: Job) -> Step | None:
        """The step to be walked now; None when the stroke is concluded and the unit is back in operation."""
        begun = route.open_step(job)
        if begun is not None and begun.crosses:
            return route.current(job)  # a crossing that is under way, or only lacks its verdict, comes first
        if _concluded(job, self._step) > self._concluded_before:
            back = route.crossings_to(job, EnergyState.IN_OPERATION)
            return back[0] if back else None
        for name in self._step.needs:
            needed = job.checklist.step(name)
            if not route.is_done(job, name) and needed in route.applicable(job):
                return route.way_to(job, needed)
        return route.way_to(job, self._step)


def _concluded(job: Job, step: Step) -> int:
    """How many attempts at a step are over, void ones included."""
    state = job.steps.get(step.id)
    return 0 if state is None else sum(1 for attempt in state.attempts if not attempt.is_open)


def _strokes(step: Step, direction: End) -> bool:
    return any(use.name in _STROKES and use.arguments.get("direction") == direction for use in step.procedures)

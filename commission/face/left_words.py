"""In what state a job was left, for whoever is about to go on with it."""

from commission.job.state import Job
from commission.walk import route
from commission.walk.state_line import state_line


def left_words(job: Job) -> str:
    """Energy state, where the walk stands, and what is still open, in one sentence."""
    done = sum(phase.done for phase in route.progress(job))
    of = sum(phase.of for phase in route.progress(job))
    begun = route.open_step(job)
    parts = [f"left {state_line(job)}", f"{done} of {of} steps done"]
    if begun is not None:
        parts.append(f"{begun.id} begun")
    temporary = sum(item.is_on for item in job.temporary.values())
    deviations = sum(item.accepted is None for item in job.deviations.values())
    if temporary:
        parts.append(f"{temporary} on the temporary list")
    if deviations:
        parts.append(f"{deviations} deviation{'' if deviations == 1 else 's'} open")
    return "; ".join(parts)

"""
What the commands that come back to a unit share: a new job beside that of an earlier visit, on a checklist of its own.

On such a job that is not at its end they go on with it instead.
"""

import argparse
from pathlib import Path

from commission.cli import output
from commission.cli.opening import checklist_of, is_job
from commission.cli.output import Ending, Status
from commission.cli.run import visit_from
from commission.job.playback import open_archive
from commission.walk import route


def visit_again(chosen: argparse.Namespace, checklist: str, refusal: str) -> Status:
    """
    Hold a visit that begins from an earlier job.

    Args:
        chosen: The command line; `sheet` is the job.

        checklist: Name of the packed one that is walked where none is asked for.

        refusal: What is said where no job is named.

    Raises:
        Ending: there is no job to begin from.
    """
    if not is_job(chosen.sheet):
        raise Ending(f"{chosen.sheet} is no job: {refusal}", Status.USAGE)
    if goes_on(chosen.sheet):
        output.say("This job is not at its end: it goes on.")
        return visit_from(chosen, checklist_of(chosen, checklist), None)
    return visit_from(chosen, checklist_of(chosen, checklist), None, again=True)


def goes_on(path: Path) -> bool:
    """Whether this job is itself a re-test that is not at its end."""
    job = open_archive(path).job
    return job.history.earlier is not None and route.current(job) is not None

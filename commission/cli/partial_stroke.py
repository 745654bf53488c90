"""
`commission partial-stroke`: rerun the partial stroke of a unit against the baseline of an earlier job.

It opens a new job beside the old one and walks the short checklist; on such a job that is not at its end it goes on.
"""

import argparse
from pathlib import Path

from commission.cli import output
from commission.cli.opening import checklist_of, is_job
from commission.cli.output import Ending, Status
from commission.cli.run import visit_from
from commission.job.playback import open_archive
from commission.walk import route


def run(chosen: argparse.Namespace) -> Status:
    """
    Hold a visit for one partial stroke.

    Raises:
        Ending: there is no job to begin from.
    """
    if not is_job(chosen.sheet):
        raise Ending(
            f"{chosen.sheet} is no job: a partial stroke is rerun from the job with its baseline;"
            " the first ones are made in a visit (commission run)",
            Status.USAGE,
        )
    if goes_on(chosen.sheet):
        output.say("This job is not at its end: it goes on.")
        return visit_from(chosen, checklist_of(chosen, "partial-stroke.toml"), None)
    return visit_from(chosen, checklist_of(chosen, "partial-stroke.toml"), None, again=True)


def goes_on(path: Path) -> bool:
    """Whether this job is itself a re-test that is not at its end."""
    job = open_archive(path).job
    return job.history.earlier is not None and route.current(job) is not None

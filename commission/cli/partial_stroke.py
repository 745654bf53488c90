"""`commission partial-stroke`: rerun the partial stroke of a unit against the baseline of an earlier job."""

import argparse

from commission.cli.again import visit_again
from commission.cli.output import Status

_NO_JOB = (
    "a partial stroke is rerun from the job with its baseline; the first ones are made in a visit (commission run)"
)


def run(chosen: argparse.Namespace) -> Status:
    """
    Hold a visit for one partial stroke.

    Raises:
        Ending: there is no job to begin from.
    """
    return visit_again(chosen, "partial-stroke.toml", _NO_JOB)

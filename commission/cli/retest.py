"""`commission retest`: the periodic re-test of a unit, from the job of an earlier visit; its as-found stroke first."""

import argparse

from commission.cli.again import visit_again
from commission.cli.output import Status

_NO_JOB = "a re-test begins from the job of an earlier visit; a first visit: commission run"


def run(chosen: argparse.Namespace) -> Status:
    """
    Hold a visit for a re-test.

    Raises:
        Ending: there is no job to begin from.
    """
    return visit_again(chosen, "retest.toml", _NO_JOB)

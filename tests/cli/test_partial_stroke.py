"""`commission partial-stroke`: from a job only."""

import argparse

import pytest

from commission.cli.output import Ending, Status
from commission.cli.partial_stroke import run
from tests.cli.conftest import SHEET


def test_it_begins_from_the_job_with_the_baseline() -> None:
    """The sentence says where the first partial strokes are made."""
    with pytest.raises(Ending, match=r"rerun from the job with its baseline.*commission run") as raised:
        run(argparse.Namespace(sheet=SHEET, connect="tcp://127.0.0.1:1"))
    assert raised.value.status is Status.USAGE

"""`commission export`: a job as JSON or CSV."""

import argparse

from commission.cli import output
from commission.cli.output import Status
from commission.face.job_file import read_job
from commission.report.export import as_csv, as_json


def run(chosen: argparse.Namespace) -> Status:
    """Print a job, or write it into a folder."""
    read = read_job(chosen.job)
    if chosen.csv is None:
        output.data_json(as_json(read.archive.job, read.traces))
        return Status.DONE
    chosen.csv.mkdir(parents=True, exist_ok=True)
    for path in as_csv(read.archive.job, read.traces, chosen.csv):
        output.say(f"wrote {path}")
    return Status.DONE

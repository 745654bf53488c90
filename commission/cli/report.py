"""`commission report`: the as-left report of a job, as PDF or plain text."""

import argparse

from commission.cli import output
from commission.cli.output import Status
from commission.face.job_file import read_job
from commission.face.report_file import contents_of, write_report
from commission.report.text import as_text


def run(chosen: argparse.Namespace) -> Status:
    """Write the report, or print it."""
    read = read_job(chosen.job)
    if chosen.text:
        output.data(as_text(contents_of(read, interim=chosen.interim)))
        return Status.DONE
    out = chosen.out or chosen.job.with_suffix(".pdf")
    write_report(read, out, interim=chosen.interim, paper=chosen.paper)
    output.say(f"wrote {out}")
    return Status.DONE

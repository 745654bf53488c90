"""`commission report`: the as-left report of a job, as PDF or plain text."""

import argparse
from pathlib import Path

import msgspec

from commission.cli import output
from commission.cli.job_file import JobRead, read_job
from commission.cli.output import Status
from commission.clock import system_utc
from commission.report.contents import Contents, contents
from commission.report.export import as_json
from commission.report.pdf import Paper, make_pdf
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


def contents_of(read: JobRead, *, interim: bool) -> Contents:
    """The contents of the report of a job as it stands."""
    archive = read.archive
    return contents(
        archive.job,
        read.traces,
        head_digest=archive.head,
        events=len(archive.events),
        interim=interim,
        made_utc=system_utc().isoformat(timespec="seconds"),
    )


def write_report(read: JobRead, out: Path, *, interim: bool, paper: Paper) -> None:
    """
    Write the PDF, whole or not at all.

    Raises:
        Ending: the file cannot be written.
    """
    attachment = msgspec.json.format(msgspec.json.encode(as_json(read.archive.job, read.traces)))
    pdf = make_pdf(contents_of(read, interim=interim), attachment, paper)
    part = out.with_name(f"{out.name}.part")
    try:
        part.write_bytes(pdf)
        part.replace(out)
    except OSError as error:
        raise output.Ending(f"{out} cannot be written: {error.strerror}", Status.USAGE) from error

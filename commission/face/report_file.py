"""The as-left report of a job file, as contents and as a PDF beside it."""

from pathlib import Path

import msgspec

from commission.clock import system_utc
from commission.face.job_file import JobRead
from commission.report.contents import Contents, contents
from commission.report.export import as_json
from commission.report.pdf import Paper, ReportError, make_pdf


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
        ReportError: the file cannot be written.
    """
    attachment = msgspec.json.format(msgspec.json.encode(as_json(read.archive.job, read.traces)))
    pdf = make_pdf(contents_of(read, interim=interim), attachment, paper)
    part = out.with_name(f"{out.name}.part")
    try:
        part.write_bytes(pdf)
        part.replace(out)
    except OSError as error:
        raise ReportError(f"{out} cannot be written: {error.strerror}") from error

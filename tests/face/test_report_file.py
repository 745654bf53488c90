"""The report of a job file: its contents, and the PDF beside it, whole or not at all."""

from pathlib import Path

import pytest

from commission.face.job_file import read_job
from commission.face.report_file import contents_of, write_report
from commission.report.pdf import ReportError
from tests.altering import finished_job


def test_contents_carry_head_and_practice(tmp_path: Path) -> None:
    """The digest of the last event is the one in the archive."""
    read = read_job(finished_job(tmp_path))
    contents = contents_of(read, interim=True)
    assert read.archive.head in str(contents)
    assert "PRACTICE" in str(contents)


def test_the_pdf_is_written_whole(tmp_path: Path) -> None:
    """Nothing half-written is left; what stood there is replaced."""
    read = read_job(finished_job(tmp_path))
    out = tmp_path / "report.pdf"
    out.write_bytes(b"old")
    write_report(read, out, interim=True, paper="a4")
    assert out.read_bytes().startswith(b"%PDF")
    assert not list(tmp_path.glob("*.part"))


def test_a_place_that_cannot_be_written_is_a_report_error(tmp_path: Path) -> None:
    """With the file's name."""
    read = read_job(finished_job(tmp_path))
    with pytest.raises(ReportError, match=r"folder\.pdf cannot be written"):
        write_report(read, tmp_path / "no" / "folder.pdf", interim=True, paper="letter")

"""`commission report`: the as-left report as PDF or text."""

from pathlib import Path

import pytest

from commission.cli import main


def test_the_pdf_lies_beside_the_job(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whole, with its place said, and nothing half-written left."""
    assert main(["report", str(job), "--interim"]) == 0
    pdf = job.with_suffix(".pdf")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert capsys.readouterr().err == f"wrote {pdf}\n"
    assert not list(job.parent.glob("*.part"))


def test_text_is_data(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On standard output: PRACTICE for good, the tag, the stroke, and that it is not finished; nothing on the other."""
    assert main(["report", str(job), "--text", "--interim"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    for words in ("PRACTICE", "XV-1101", "NOT FINISHED", "open"):
        assert words in captured.out
    assert "Traceback" not in captured.out


def test_a_place_that_cannot_be_written_is_said(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2 with the file's name; the job stays as it is."""
    out = tmp_path / "no" / "such" / "folder.pdf"
    assert main(["report", str(job), "--out", str(out), "--interim"]) == 2
    assert str(out) in capsys.readouterr().err

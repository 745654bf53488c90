"""`commission export`: a job for other programs."""

import csv
import json
from pathlib import Path

import pytest

from commission.cli import main


def test_json_holds_the_stroke_with_its_curve(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object: tag, PRACTICE, the timed stroke with uncertainty and limits, and what its curve was read as."""
    assert main(["export", str(job)]) == 0
    out = capsys.readouterr().out
    found = json.loads(out)
    assert (found["tag"], found["practice"]) == ("XV-1101", True)
    timed = [row for row in found["results"] if row["figure"]]
    assert timed[-1]["verdict"]
    assert float(timed[-1]["expanded_uncertainty_95pct"]) > 0
    trace = found["traces"][timed[-1]["run"]]
    assert len(trace["time_s"]) == len(trace["travel"]) > 50


def test_csv_is_a_folder_of_tables(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every file is said, and every row has its header's columns."""
    folder = tmp_path / "a" / "b"
    assert main(["export", str(job), "--csv", str(folder)]) == 0
    captured = capsys.readouterr()
    assert captured.out == ""
    names = {path.name for path in folder.iterdir()}
    assert {"results.csv", "strokes.csv", "energy.csv", "answers.csv", "deviations.csv"} < names
    assert any(name.startswith("trace_") for name in names)
    for path in folder.iterdir():
        assert str(path) in captured.err
        with path.open(encoding="utf-8", newline="") as file:
            header, *rows = csv.reader(file)
        assert all(len(row) == len(header) for row in rows), path.name


def test_a_folder_that_is_a_file_is_said(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The job itself, named as the folder by mistake, stays as it is."""
    before = job.read_bytes()
    assert main(["export", str(job), "--csv", str(job)]) == 2
    assert str(job) in capsys.readouterr().err
    assert job.read_bytes() == before

"""A job file as report and exports need it: the folded job, and the curve of each finished stroke."""

from pathlib import Path

import pytest

from commission.face.job_file import read_job
from commission.record.errors import RecordError
from tests.altering import finished_job


def test_a_finished_stroke_has_its_curve(tmp_path: Path) -> None:
    """Time and travel side by side, from open to closed, in time order."""
    read = read_job(finished_job(tmp_path))
    (trace,) = read.traces.values()
    assert len(trace.time_s) == len(trace.travel) > 50
    assert list(trace.time_s) == sorted(trace.time_s)
    assert trace.travel[0] > 0.95
    assert trace.travel[-1] < 0.05
    assert len(trace.pressure_pa) in (0, len(trace.travel))
    assert read.archive.job.practice


def test_no_file_and_no_record_are_errors_of_the_record(tmp_path: Path) -> None:
    """Each with the file's name."""
    other = tmp_path / "other.job"
    other.write_bytes(b"no database at all" * 100)
    for path in (tmp_path / "nowhere.job", other):
        with pytest.raises(RecordError, match=path.name):
            read_job(path)

"""A job file as report and exports need it: the folded job, and the curve of each finished stroke."""

import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from commission.face.job_file import new_job_path, read_job
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


def test_a_new_job_bears_the_day_of_the_site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Late in the evening five hours west of Greenwich it is still that day; a second job is numbered."""
    monkeypatch.setenv("TZ", "EST5")
    time.tzset()
    try:
        late = datetime(2026, 11, 27, 4, 30, tzinfo=UTC)
        first = new_job_path(tmp_path, "XV-1101", late)
        assert first.name == "XV-1101-2026-11-26.job"
        first.touch()
        assert new_job_path(tmp_path, "XV-1101", late).name == "XV-1101-2026-11-26-2.job"
    finally:
        monkeypatch.undo()
        time.tzset()

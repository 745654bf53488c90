"""A finished run given back from its record alone: what was observed, and what may not be passed off as observed."""

from pathlib import Path

import pytest

from commission.analysis.observed import StrokeObserved
from commission.job.playback import Archive, observed_of, open_archive, read_archive
from commission.job.state import Job, JobError
from commission.procedures.pulse_seen import PulsesSeen
from commission.procedures.replay import CannotReplay
from commission.record.errors import RecordMissing
from commission.record.reader import Reader
from commission.record.writer import Recorder
from commission.sample import Outcome
from commission.sheet.decode import Readings
from tests.altering import STROKE, finished_job, rewritten
from tests.virtual_time import run_virtual, virtual_clock


def played(path: Path, run: str) -> object:
    """What a run of a file observed."""
    archive = open_archive(path)
    with Reader(path) as reader:
        return observed_of(archive.job, archive.job.runs[run], archive.events, reader)


def test_stroke_is_observed_again_sample_by_sample(tmp_path: Path) -> None:
    """Command with its time and half-width, every sample from the first, and that it came home."""
    path = finished_job(tmp_path)
    observed = played(path, STROKE)
    assert isinstance(observed, StrokeObserved)
    assert observed.command is not None
    assert observed.command.outcome is Outcome.ANSWERED
    numbers = [item.number for item in observed.seen]
    assert numbers == list(range(1, len(numbers) + 1))
    first, last = observed.seen[0], observed.seen[-1]
    assert isinstance(first, Readings)
    assert isinstance(last, Readings)
    assert first.at_ns < observed.command.at_ns < last.at_ns
    assert (first.bit("open_limit"), last.bit("closed_limit")) == (True, True)


def test_playing_twice_gives_the_same(tmp_path: Path) -> None:
    """No clock, no draw, no state outside the record."""
    path = finished_job(tmp_path)
    assert played(path, STROKE) == played(path, STROKE)
    pulses = played(path, "I2-1")
    assert isinstance(pulses, PulsesSeen)
    assert pulses.proved == ("command_close", "command_open", "command_partial_stroke", "command_stop")


def test_archive_is_the_job_with_its_events_and_head(tmp_path: Path) -> None:
    """All in one, read once."""
    path = finished_job(tmp_path)
    archive = open_archive(path)
    assert isinstance(archive, Archive)
    assert isinstance(archive.job, Job)
    assert archive.job.last_n == len(archive.events)
    with Reader(path) as reader:
        assert read_archive(reader) == archive
        assert archive.head == reader.head()[1]


def test_chunk_read_by_another_plan_is_not_played(tmp_path: Path) -> None:
    """Registers of another plan would be decoded into nonsense; it is refused with the chunk's name."""
    path = finished_job(tmp_path)

    def other_plan(body: dict[str, object]) -> None:
        plan = body["plan"]
        assert isinstance(plan, dict)
        plan["unit_id"] = 12

    rewritten(path, "motion_begun", other_plan)
    with pytest.raises(CannotReplay, match="was read by another plan than the run's"):
        played(path, STROKE)


def test_run_of_an_unknown_procedure_is_a_lookup_error(tmp_path: Path) -> None:
    """A later program's run."""
    path = finished_job(tmp_path)
    rewritten(path, "motion_begun", lambda body: body.update(procedure="third_stroke"))
    with pytest.raises(LookupError):
        played(path, STROKE)


def test_commands_of_the_safe_end_are_none_of_the_procedures_replies(tmp_path: Path) -> None:
    """What the supervisor sent by itself is in the record and not handed to the procedure."""
    path = finished_job(tmp_path)

    def by_safe_end(body: dict[str, object]) -> None:
        if body["run"] == STROKE:
            body["purpose"] = "safe end"

    rewritten(path, "command_sent", by_safe_end)
    with pytest.raises(CannotReplay, match="holds no command_close"):
        played(path, STROKE)


def test_file_that_is_no_job(tmp_path: Path) -> None:
    """Missing, or a record that does not begin with a job."""
    with pytest.raises(RecordMissing):
        open_archive(tmp_path / "none.job")

    async def main() -> None:
        with Recorder(tmp_path / "other.job", session="s", clock=virtual_clock(), new=True) as recorder:
            recorder.append("remark_made", {}, by="T")

    run_virtual(main())
    with pytest.raises(JobError):
        open_archive(tmp_path / "other.job")

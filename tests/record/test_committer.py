"""What the writer thread does to the disk."""

import sqlite3
from concurrent.futures import Future
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from commission.clock import Clock
from commission.record.chain import check_chain
from commission.record.committer import Committer, Entry
from commission.record.errors import RecordDamaged, RecordNotWritten
from commission.record.event import Event
from commission.record.file import create
from tests.simulated_power import Cut, cuts_of_a_session


def _entry(n: int, *chunks: bytes) -> Entry:
    event = Event(n=n, session="s", at_utc="", at_mono_ns=n, by="T", kind="k", v=1, need=False, body={})
    return Entry(n, event.text(), chunks, Future())


@pytest.fixture
def job_path(tmp_path: Path) -> Path:
    """A new, empty job."""
    path = tmp_path / "a.job"
    create(path)
    return path


def test_a_batch_is_one_transaction(job_path: Path) -> None:
    """Whatever is queued together goes to the disk together, chunks first."""
    statements: list[str] = []

    def connect(path: Path) -> sqlite3.Connection:
        connection = sqlite3.connect(path, isolation_level=None)
        connection.set_trace_callback(statements.append)
        return connection

    committer = Committer(job_path, connect)
    committer.open("now")
    statements.clear()
    entries = [_entry(1), _entry(2, b"chunk"), _entry(3)]
    committer.commit(entries)
    committer.close()
    words = [statement.split()[0] for statement in statements]
    assert words[: words.index("COMMIT") + 1] == ["BEGIN", "INSERT", "INSERT", "INSERT", "INSERT", "COMMIT"]
    assert "chunks" in statements[2]
    assert committer.head == entries[-1].committed.result(0)


def test_a_failed_transaction_leaves_nothing_behind(job_path: Path) -> None:
    """Where one event of a batch is refused, none of it is stored, and all of it waits."""
    committer = Committer(job_path)
    committer.open("now")
    committer.commit([_entry(1)])
    committer.commit([_entry(2), _entry(1)])
    assert isinstance(committer.failure, RecordNotWritten)
    assert len(committer.waiting) == 2
    committer.close()
    assert check_chain(job_path).last == 1


def test_a_commit_reported_as_failed_that_landed_is_not_written_twice(job_path: Path) -> None:
    """After a failure the file is asked what it holds; events found there count as stored."""
    committer = Committer(job_path)
    committer.open("now")
    committer.commit([_entry(1)])
    wal = job_path.with_name("a.job-wal")
    away = job_path.with_name("away")
    job_path.rename(away)
    committer.commit([_entry(2)])
    assert committer.failure is not None
    away.rename(job_path)
    committer.retry()
    committer.commit([_entry(3)])
    committer.close()
    assert not wal.exists()
    report = check_chain(job_path)
    assert (report.intact, report.last) == (True, 3)


def test_a_file_written_by_somebody_else_meanwhile_is_refused(job_path: Path) -> None:
    """What others added while this one could not write is not built upon."""
    committer = Committer(job_path)
    committer.open("now")
    committer.commit([_entry(1)])
    committer.commit([_entry(1)])
    assert committer.failure is not None
    with closing(sqlite3.connect(job_path, isolation_level=None)) as other:
        other.execute("INSERT INTO events SELECT 2, text, digest FROM events")
    with pytest.raises(RecordDamaged):
        committer.retry()
    committer.close()


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE events SET digest = zeroblob(32) WHERE n = 20",
        "UPDATE events SET text = replace(text, 'need', 'sure') WHERE n = 20",
        "UPDATE events SET n = 25 WHERE n = 20",
        "UPDATE events SET text = x'00' WHERE n = 20",
        "UPDATE events SET digest = zeroblob(32) WHERE n = 19",
    ],
)
def test_nothing_is_added_to_a_broken_end(job: Path, damage: str) -> None:
    """A last event that does not fit is damage, said when opening; the lock is free afterwards."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        connection.execute(damage)
    for _ in range(2):
        with pytest.raises(RecordDamaged, match="last event"):
            Committer(job).open("now")


def _lost(cuts: list[Cut]) -> list[int]:
    lost = []
    for cut in cuts:
        report = check_chain(cut.path)
        assert report.intact or report.events == 0, (cut.path, report.sentences)
        lost.append(max(0, cut.acknowledged - report.last))
    return lost


def test_a_power_cut_takes_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """In simulated cuts, with unsynced writes kept, torn or gone, every acknowledged event is there."""
    cuts = cuts_of_a_session(tmp_path, Random(1), events=60, cuts=12)
    assert len(cuts) >= 4
    assert max(cut.acknowledged for cut in cuts) > 10
    assert sum(_lost(cuts)) == 0


def test_the_simulated_cut_tells_a_wrong_setting(tmp_path: Path) -> None:
    """With `synchronous=NORMAL` the same cuts lose acknowledged events: the simulation can fail."""
    cuts = cuts_of_a_session(tmp_path, Random(1), events=60, cuts=12, synchronous="NORMAL")
    assert sum(_lost(cuts)) > 0


def test_the_clock_of_the_lock_is_the_one_given(job_path: Path) -> None:
    """The label beside the file says since when, by the clock of the session."""
    committer = Committer(job_path)
    since = Clock().utc().isoformat()
    committer.open(since)
    assert since in job_path.with_name(".a.job.writer").read_text()
    committer.close()

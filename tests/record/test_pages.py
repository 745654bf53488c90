"""Rows are found in raw pages, with or without SQLite's help."""

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from commission.clock import Clock
from commission.record.file import open_for_reading
from commission.record.pages import ChunkRow, EventRow, Pages
from commission.record.writer import Recorder
from tests.record.small_job import Write, fill

_EVENTS = "SELECT n, CAST(text AS BLOB), digest FROM events ORDER BY n"


def _found(path: Path) -> tuple[list[tuple[int, bytes, bytes]], list[tuple[bytes, bytes]]]:
    events, chunks = [], []
    for row in Pages(path).rows():
        if isinstance(row, EventRow):
            events.append((row.n, row.text, row.digest))
        else:
            assert isinstance(row, ChunkRow)
            chunks.append((row.digest, row.data))
    return sorted(events), sorted(chunks)


def _as_sqlite_reads(path: Path) -> tuple[list[tuple[int, bytes, bytes]], list[tuple[bytes, bytes]]]:
    with open_for_reading(path) as file:
        events = file.connection.execute(_EVENTS).fetchall()
        return events, file.connection.execute("SELECT digest, data FROM chunks ORDER BY digest").fetchall()


@pytest.mark.parametrize("count", [0, 1, 20, 700])
def test_same_rows_as_sqlite(write: Write, count: int) -> None:
    """In an undamaged file the raw pages give exactly the rows that SQLite gives."""
    path = write(count=count)
    assert _found(path) == _as_sqlite_reads(path)


@pytest.mark.parametrize("length", [3000, 3900, 4000, 4061, 4062, 8200, 100_000])
def test_rows_longer_than_a_page(tmp_path: Path, length: int) -> None:
    """A text that runs over many pages comes back whole, whatever its length does at the page's edge."""
    path = tmp_path / "a.job"
    with Recorder(path, session="s", clock=Clock(), new=True) as recorder:
        for extra in range(4):
            body = {"text": "x" * (length + extra), "chunk": recorder.append_chunk(bytes(length + extra))}
            recorder.append("k", body, by="T")
    assert _found(path) == _as_sqlite_reads(path)


def test_rows_that_are_only_in_the_log(tmp_path: Path) -> None:
    """What a crash left in the write-ahead log counts, over the older page in the file."""
    path, crashed = tmp_path / "a.job", tmp_path / "b.job"
    with Recorder(path, session="s", clock=Clock(), new=True) as recorder:
        fill(recorder, 5)
        recorder.checkpoint().result(10)
        fill(recorder, 30)
        recorder.append("k", {}, by="T").committed.result(10)
        for suffix in ("", "-wal"):
            shutil.copyfile(f"{path}{suffix}", f"{crashed}{suffix}")
        expected = _as_sqlite_reads(path)
    assert len(expected[0]) == 36
    assert _found(crashed) == expected


def test_without_its_first_page(write: Write) -> None:
    """With header and schema gone, the rows are still there."""
    path = write(count=100)
    expected = _as_sqlite_reads(path)
    path.write_bytes(bytes(4096) + path.read_bytes()[4096:])
    assert _found(path) == expected


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=100, deadline=None)
@given(data=st.data())
def test_any_bytes_are_read_without_error(job: Path, data: st.DataObject) -> None:
    """Whatever stands in the file, looking for rows ends, and finds only what is there."""
    original = job.read_bytes()
    at = data.draw(st.integers(0, len(original) - 1))
    junk = data.draw(st.binary(min_size=1, max_size=3000))
    copy = job.with_name("junk.job")
    copy.write_bytes(original[:at] + junk + original[at + len(junk) :])
    assert len(list(Pages(copy).rows())) < 5000

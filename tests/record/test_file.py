"""The job file: one plain file at rest, readable wherever it lies, damaged or not a job said in words."""

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from commission.clock import Clock
from commission.record.errors import NotARecord, RecordDamaged, RecordMissing, RecordNotWritten, RecordTooNew
from commission.record.file import APPLICATION_ID, LAYOUT, create, open_for_reading, open_for_writing
from commission.record.reader import Reader
from commission.record.writer import Recorder

NOBODY = 65534


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that others may enter, which the test's own folder is not."""
    folder = Path(tempfile.mkdtemp(prefix="job-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@contextmanager
def _may_only_read(folder: Path) -> Iterator[None]:
    """Inside, nothing can be created or written in the folder: permissions do not bind root, so root steps down."""
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    is_root = os.geteuid() == 0
    if is_root:
        os.seteuid(NOBODY)
    try:
        with pytest.raises(PermissionError):
            (folder / "probe").touch()
        yield
    finally:
        if is_root:
            os.seteuid(0)


def _copy_as_after_a_crash(recorder: Recorder, folder: Path) -> Path:
    """What a power cut leaves: the file with its WAL flag, and the log beside it."""
    path = folder / recorder.path.name
    for suffix in ("", "-wal"):
        shutil.copyfile(f"{recorder.path}{suffix}", f"{path}{suffix}")
    return path


def _numbers(path: Path) -> list[int]:
    with Reader(path) as reader:
        return [event.n for event in reader.events()]


def test_holds_two_tables_and_nothing_else(job: Path) -> None:
    """Anyone with SQLite finds events and chunks, and the marks of the file."""
    with closing(sqlite3.connect(job)) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
        assert tables == [("chunks",), ("events",)]
        assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
        assert connection.execute("PRAGMA user_version").fetchone() == (LAYOUT,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_at_rest_it_is_one_file(job: Path) -> None:
    """After close nothing of the write-ahead log is left beside it."""
    assert [path.name for path in job.parent.iterdir() if not path.name.startswith(".")] == [job.name]


def test_at_rest_it_opens_from_a_folder_that_cannot_be_written(job: Path, open_folder: Path) -> None:
    """As from a read-only stick."""
    copy = Path(shutil.copy(job, open_folder))
    with _may_only_read(open_folder):
        assert _numbers(copy) == list(range(1, 21))


@pytest.mark.parametrize("checkpoint_first", [False, True], ids=["all in the log", "part in the log"])
def test_after_a_crash_it_opens_from_a_folder_that_cannot_be_written(
    tmp_path: Path, open_folder: Path, *, checkpoint_first: bool
) -> None:
    """With the WAL flag and a log that holds events, every committed event is read, and nothing is written there."""
    with Recorder(tmp_path / "a.job", session="s", clock=Clock(), new=True) as recorder:
        recorder.append("a", {}, by="T").committed.result(10)
        if checkpoint_first:
            recorder.checkpoint().result(10)
        recorder.append("b", {}, by="T").committed.result(10)
        crashed = _copy_as_after_a_crash(recorder, open_folder)
    before = {path.name: path.read_bytes() for path in open_folder.iterdir()}
    with _may_only_read(open_folder):
        assert _numbers(crashed) == [1, 2]
    assert {path.name: path.read_bytes() for path in open_folder.iterdir()} == before
    assert before[crashed.name + "-wal"]


def test_the_temporary_copy_goes_when_it_is_closed(
    tmp_path: Path, open_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reading a crashed file from a read-only folder leaves nothing in the temporary folder."""
    with Recorder(tmp_path / "a.job", session="s", clock=Clock(), new=True) as recorder:
        recorder.append("a", {}, by="T").committed.result(10)
        crashed = _copy_as_after_a_crash(recorder, open_folder)
    scratch = Path(tempfile.mkdtemp(prefix="scratch-"))
    scratch.chmod(0o777)
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    try:
        with _may_only_read(open_folder), open_for_reading(crashed):
            assert len(list(scratch.iterdir())) == 1
        assert list(scratch.iterdir()) == []
    finally:
        scratch.rmdir()


def test_a_read_only_file_cannot_be_opened_for_writing(job: Path, open_folder: Path) -> None:
    """It is said when opening, before anything is to be recorded."""
    copy = Path(shutil.copy(job, open_folder))
    with _may_only_read(open_folder), pytest.raises(RecordNotWritten, match="cannot be written"):
        open_for_writing(copy)


def test_readers_see_what_is_committed_while_it_is_written(tmp_path: Path) -> None:
    """A second program can follow a visit."""
    path = tmp_path / "a.job"
    with Recorder(path, session="s", clock=Clock(), new=True) as recorder:
        recorder.append("a", {}, by="T").committed.result(10)
        assert _numbers(path) == [1]
        recorder.append("b", {}, by="T").committed.result(10)
        assert _numbers(path) == [1, 2]


def test_a_file_closed_while_read_is_whole_all_the_same(tmp_path: Path) -> None:
    """A reader that keeps the file open does not stop the writer from closing it."""
    path = tmp_path / "a.job"
    recorder = Recorder(path, session="s", clock=Clock(), new=True)
    recorder.append("a", {}, by="T").committed.result(10)
    with open_for_reading(path) as reading:
        cursor = reading.connection.execute("SELECT n FROM events")
        assert cursor.fetchone() == (1,)
        recorder.close()
        cursor.close()
    assert _numbers(path) == [1]


def test_copy_of_a_file_in_use_is_whole_and_at_rest(tmp_path: Path, open_folder: Path) -> None:
    """A copy taken by the backup interface holds everything committed and opens read-only."""
    with Recorder(tmp_path / "a.job", session="s", clock=Clock(), new=True) as recorder:
        recorder.append("a", {}, by="T")
        recorder.copy_to(open_folder / "copy.job").result(10)
        recorder.append("b", {}, by="T")
    assert [path.name for path in open_folder.iterdir()] == ["copy.job"]
    with _may_only_read(open_folder):
        assert _numbers(open_folder / "copy.job") == [1]


def test_nothing_is_written_over(job: Path) -> None:
    """Neither creating nor copying replaces a file that exists."""
    before = job.read_bytes()
    with pytest.raises(RecordNotWritten, match="never written over"):
        create(job)
    with open_for_reading(job) as file, pytest.raises(RecordNotWritten, match="never written over"):
        file.copy_to(job)
    assert job.read_bytes() == before


def test_a_reading_connection_cannot_write(job: Path) -> None:
    """Reading never changes a record, even by mistake."""
    with open_for_reading(job) as file, pytest.raises(sqlite3.OperationalError, match="readonly"):
        file.connection.execute("DELETE FROM events")


def _other_database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE music (title TEXT)")


def _later_layout(path: Path) -> None:
    create(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"PRAGMA user_version = {LAYOUT + 1}")


def _with_trigger(path: Path) -> None:
    create(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TRIGGER sly AFTER INSERT ON events BEGIN DELETE FROM events; END")


def _without_chunks(path: Path) -> None:
    create(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TABLE chunks")


def _with_other_words(path: Path) -> None:
    create(path)
    path.write_bytes(path.read_bytes().replace(b"n INTEGER PRIMARY KEY", b"n INTEGER PRIMARX KEY"))


def _header_only(path: Path) -> None:
    create(path)
    path.write_bytes(path.read_bytes()[:3000])


@pytest.mark.parametrize(
    ("make", "kind", "words"),
    [
        (lambda _: None, RecordMissing, "no such file"),
        (lambda path: path.mkdir(), RecordMissing, "no such file"),
        (lambda path: path.touch(), NotARecord, "empty"),
        (lambda path: path.write_bytes(b"%PDF-1.7 " * 500), NotARecord, "not a job file"),
        (_other_database, NotARecord, "another program"),
        (_later_layout, RecordTooNew, f"layout {LAYOUT + 1}"),
        (_with_trigger, RecordDamaged, "trigger 'sly'"),
        (_without_chunks, RecordDamaged, "chunks is missing"),
        (_with_other_words, RecordDamaged, "salvage"),
        (_header_only, RecordDamaged, "salvage"),
    ],
    ids=["missing", "folder", "empty", "other file", "other database", "later", "trigger", "half", "one letter", "cut"],
)
def test_what_cannot_be_opened_is_said(tmp_path: Path, make: object, kind: type[Exception], words: str) -> None:
    """Whatever lies at the path, for reading and for writing, a sentence comes and the file stays as it is."""
    path = tmp_path / "XV-1101.job"
    assert callable(make)
    make(path)
    before = path.read_bytes() if path.is_file() else None
    for opens in (open_for_reading, open_for_writing):
        with pytest.raises(kind, match=words) as caught:
            opens(path)
        assert "XV-1101.job" in str(caught.value)
    assert (path.read_bytes() if path.is_file() else None) == before


def test_creating_where_there_is_no_folder_is_said(tmp_path: Path) -> None:
    """A stick that is not there is a sentence."""
    with pytest.raises(RecordNotWritten, match="still connected"):
        create(tmp_path / "gone" / "a.job")

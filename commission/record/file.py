"""
One job is one SQLite file with two tables, *events* and *chunks*, and nothing else.

While it is written the file is in WAL mode with `synchronous=FULL`: a commit that has returned survives a power cut. At
rest it is one plain file that opens from a folder that cannot be written. A crash leaves the WAL flag and two files
beside it; from a folder that cannot be written those are read through a temporary copy.

Readers open `mode=ro`: they never checkpoint, so only the one writer ever resets the write-ahead log.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from commission.record.errors import (
    NotARecord,
    RecordDamaged,
    RecordError,
    RecordMissing,
    RecordNotWritten,
    RecordTooNew,
)

APPLICATION_ID = 0x636D6973
"""SQLite's `application_id` of a job file: the letters `cmis`."""

LAYOUT = 1
"""SQLite's `user_version` of a job file: which layout of tables it has."""

READ_ERRORS = (sqlite3.Error, UnicodeDecodeError)
"""What reading a damaged file can raise: SQLite quotes the damage in its message, which then may not decode either."""

Connect = Callable[[Path], sqlite3.Connection]

_TABLES = (
    "CREATE TABLE events (n INTEGER PRIMARY KEY, text TEXT NOT NULL, digest BLOB NOT NULL)",
    "CREATE TABLE chunks (digest BLOB PRIMARY KEY, data BLOB NOT NULL)",
)
_SCHEMA = {
    ("table", "events"): _TABLES[0],
    ("table", "chunks"): _TABLES[1],
    ("index", "sqlite_autoindex_chunks_1"): None,
}
_BESIDE = ("", "-wal", "-journal")
_BUSY_S = 2.0
_COPY_TRIES = 5


class JobFile:
    """
    An open job file.

    Args:
        path: The job file.

        connection: Onto the file, or onto a temporary copy of it.

        on_close: What is to be done after the connection is closed.
    """

    def __init__(
        self, path: Path, connection: sqlite3.Connection, on_close: Callable[[], None] | None = None, *, writes: bool
    ) -> None:
        self.path = path
        self.connection = connection
        self._on_close = on_close
        self._writes = writes

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def checkpoint(self) -> None:
        """Move all that is committed into the job file itself, as far as readers let it."""
        self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def copy_to(self, out: Path) -> None:
        """
        A whole copy of the record at `out`, taken while it may be in use.

        Raises:
            RecordNotWritten: `out` exists or cannot be written.

            RecordDamaged: part of the record cannot be read.
        """
        _refuse_existing(out)
        partial = out.with_name(f".{out.name}.partial")
        partial.unlink(missing_ok=True)
        try:
            copy = connect_new(partial)
            try:
                self.connection.backup(copy)
                copy.execute("PRAGMA journal_mode=DELETE").fetchall()
            finally:
                copy.close()
            partial.replace(out)
        except (sqlite3.Error, OSError) as error:
            raise disk_error(error, self.path) from error
        finally:
            for suffix in _BESIDE:
                with suppress(OSError):
                    _beside(partial, suffix).unlink(missing_ok=True)

    def close(self) -> None:
        """Leave one plain file behind; closing twice is harmless."""
        try:
            if self._writes:
                self._writes = False
                with suppress(sqlite3.Error):  # a reader or a lost disk keeps the WAL; every reader can deal with it
                    self.checkpoint()
                    self.connection.execute("PRAGMA journal_mode=DELETE").fetchall()
            self.connection.close()
        finally:
            on_close, self._on_close = self._on_close, None
            if on_close is not None:
                on_close()


def create(path: Path) -> None:
    """
    A new, empty job file.

    Raises:
        RecordNotWritten: the file exists already, or the disk does not take it.
    """
    _refuse_existing(path)
    try:
        connection = connect_new(path)
        try:
            connection.execute("BEGIN IMMEDIATE")
            for statement in _TABLES:
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version={LAYOUT}")
            connection.execute("COMMIT")
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise disk_error(error, path) from error


def open_for_writing(path: Path, connect: Connect | None = None) -> JobFile:
    """
    The job file, ready to be written durably. The caller holds the `WriterLock`.

    Args:
        path: The job file.

        connect: How to connect; by default SQLite of the standard library.

    Raises:
        RecordMissing, NotARecord, RecordTooNew, RecordDamaged: as named.

        RecordNotWritten: the disk refuses writing.
    """
    _require_file(path)
    try:
        connection = (connect or connect_writing)(path)
    except sqlite3.Error as error:
        raise disk_error(error, path) from error
    try:
        _require_job(connection, path)
        connection.execute("PRAGMA journal_mode=WAL").fetchall()
        connection.execute("PRAGMA synchronous=FULL").fetchall()
        connection.execute("PRAGMA fullfsync=ON").fetchall()  # macOS: past the drive's own cache
        connection.execute("PRAGMA checkpoint_fullfsync=ON").fetchall()
        connection.execute("BEGIN IMMEDIATE")  # tells a read-only file now, not at the first event
        connection.execute("COMMIT")
    except RecordError:
        connection.close()
        raise
    except READ_ERRORS as error:
        connection.close()
        raise disk_error(error, path) from error
    return JobFile(path, connection, writes=True)


def open_for_reading(path: Path) -> JobFile:
    """
    The job file, to be read; from a folder that cannot be written too, even after a crash.

    Raises:
        RecordMissing, NotARecord, RecordTooNew, RecordDamaged: as named.
    """
    _require_file(path)
    try:
        return _open_in_place(path)
    except READ_ERRORS as error:
        if _primary_code(error) in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}:
            return _open_copy(path)
        raise read_error(error, path) from error


def connect_new(path: Path) -> sqlite3.Connection:
    """A connection that may create the file, in the durable mode of a file at rest."""
    connection = sqlite3.connect(path, isolation_level=None, timeout=_BUSY_S)
    connection.execute("PRAGMA synchronous=FULL").fetchall()
    return connection


def connect_writing(path: Path) -> sqlite3.Connection:
    """A connection that may write and never creates a file."""
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True, isolation_level=None, timeout=_BUSY_S)


def disk_error(error: Exception, path: Path) -> RecordError:
    """What SQLite or the system reported, as the error and sentence that a person needs."""
    code = _primary_code(error)
    if isinstance(error, UnicodeDecodeError) or code in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}:
        return read_error(error, path)
    sentences = {
        sqlite3.SQLITE_FULL: "the disk is full; free some space, then try again",
        sqlite3.SQLITE_IOERR: "the disk does not answer or is full; is the stick or drive still connected?",
        sqlite3.SQLITE_READONLY: "the file or its folder cannot be written",
        sqlite3.SQLITE_CANTOPEN: "the file cannot be opened; is the stick or drive still connected?",
        sqlite3.SQLITE_BUSY: "another program keeps the file busy; close it there, then try again",
        sqlite3.SQLITE_LOCKED: "another program keeps the file busy; close it there, then try again",
    }
    return RecordNotWritten(f"{path.name}: {sentences.get(code, 'it could not be recorded')} ({error})")


def read_error(error: Exception, path: Path) -> RecordError:
    """What SQLite reported while reading, as the error and sentence that a person needs."""
    if _primary_code(error) in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        return RecordMissing(f"{path.name}: another program keeps the file busy; close it there, then try again")
    quoted = "damaged text" if isinstance(error, UnicodeDecodeError) else str(error).split(" with text ")[0]
    reason = "".join(letter if letter.isprintable() else "?" for letter in quoted)
    return RecordDamaged(f"{path.name}: part of the record cannot be read ({reason}); salvage what is intact")


def _primary_code(error: Exception) -> int:
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF


def _beside(path: Path, suffix: str) -> Path:
    return path.with_name(path.name + suffix)


def _refuse_existing(path: Path) -> None:
    if path.exists():
        raise RecordNotWritten(f"{path.name} exists already; a record is never written over")


def _require_file(path: Path) -> None:
    try:
        size = path.stat().st_size if path.is_file() else None
    except OSError as error:
        raise RecordMissing(f"{path}: {error.strerror or error}") from error
    if size is None:
        raise RecordMissing(f"{path}: there is no such file")
    if size == 0 and not _beside(path, "-wal").exists():
        raise NotARecord(f"{path.name} is empty: nothing was ever recorded in it")


def _require_job(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("PRAGMA trusted_schema=OFF").fetchall()
    connection.execute("PRAGMA cell_size_check=ON").fetchall()
    try:
        (application,) = connection.execute("PRAGMA application_id").fetchall()[0]
        (layout,) = connection.execute("PRAGMA user_version").fetchall()[0]
        schema = {(row[0], row[1]): row[2] for row in connection.execute("SELECT type, name, sql FROM sqlite_master")}
    except sqlite3.DatabaseError as error:
        if _primary_code(error) == sqlite3.SQLITE_NOTADB:
            raise NotARecord(f"{path.name} is not a job file (or its first bytes are damaged)") from error
        raise
    if application != APPLICATION_ID:
        raise NotARecord(f"{path.name} is a database of another program")
    if layout > LAYOUT:
        raise RecordTooNew(
            f"{path.name} has layout {layout}; this program knows layouts up to {LAYOUT}: use a newer one"
        )
    if layout < 1:
        raise RecordDamaged(f"{path.name}: has no known layout ({layout}); salvage what is intact")
    for kind, name in sorted(_SCHEMA.keys() - schema.keys(), reverse=True):
        raise RecordDamaged(f"{path.name}: the {kind} {name} is missing; salvage what is intact")
    for kind, name in sorted(schema.keys() - _SCHEMA.keys()):
        raise RecordDamaged(f"{path.name}: has a {kind} {name!r} that no record has; somebody added it")
    if schema != _SCHEMA:  # one altered letter can give every row another meaning
        raise RecordDamaged(f"{path.name}: its tables are not described as in a record; salvage what is intact")


def _open_in_place(path: Path) -> JobFile:
    uri = f"{path.resolve().as_uri()}?mode=ro"
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=_BUSY_S)
    try:
        _require_job(connection, path)
    except BaseException:
        connection.close()
        raise
    return JobFile(path, connection, writes=False)


def _open_copy(path: Path) -> JobFile:
    folder = tempfile.TemporaryDirectory(prefix="record-", ignore_cleanup_errors=True)
    connection: sqlite3.Connection | None = None
    try:
        copy = _copy_quietly(path, Path(folder.name))
        connection = connect_writing(copy)  # in the copy SQLite may replay what a crash left
        _require_job(connection, path)
        connection.execute("PRAGMA query_only=ON").fetchall()
    except (RecordError, *READ_ERRORS, OSError) as error:
        if connection is not None:
            connection.close()
        folder.cleanup()
        if isinstance(error, RecordError):
            raise
        if isinstance(error, OSError):
            raise RecordMissing(f"{path}: {error.strerror or error}") from error
        raise read_error(error, path) from error
    return JobFile(path, connection, folder.cleanup, writes=False)


def _copy_quietly(path: Path, folder: Path) -> Path:
    """Copy the file with what lies beside it, again if somebody wrote meanwhile."""
    copy = folder / "job"
    for _ in range(_COPY_TRIES):
        before = _states(path)
        for suffix in _BESIDE:
            target = _beside(copy, suffix)
            target.unlink(missing_ok=True)
            if _beside(path, suffix).exists():
                shutil.copyfile(_beside(path, suffix), target)
        if _states(path) == before:
            break
    return copy


def _states(path: Path) -> list[tuple[int, int] | None]:
    states: list[tuple[int, int] | None] = []
    for suffix in _BESIDE:
        try:
            found = _beside(path, suffix).stat()
            states.append((found.st_mtime_ns, found.st_size))
        except FileNotFoundError:
            states.append(None)
    return states

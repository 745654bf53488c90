"""
All that the writer thread does to the disk: open, commit, look whether the file is still there, try again, close.

Used by `writer` from one thread only. Entries that the disk did not take stay in order in memory, so that freeing space
or putting the stick back loses nothing.
"""

import hashlib
import sqlite3
from collections.abc import Sequence
from concurrent.futures import Future
from contextlib import suppress
from pathlib import Path

import msgspec

from commission.record.errors import RecordDamaged, RecordError, RecordNotWritten
from commission.record.event import GENESIS, event_from_text, link_digest
from commission.record.file import READ_ERRORS, Connect, JobFile, disk_error, open_for_writing
from commission.record.lock import WriterLock


class Entry(msgspec.Struct, frozen=True):
    """
    One event on its way to the disk.

    Args:
        n: Its number.

        text: Its JSON text.

        chunks: Data that is to be durable no later than the event.

        committed: Gets the event's digest once it is durable, or the reason why it is not.
    """

    n: int
    text: str
    chunks: tuple[bytes, ...]
    committed: Future[bytes]


class Committer:
    """
    The only writing connection to a job file.

    Args:
        path: The job file.

        connect: How to connect; by default SQLite of the standard library.
    """

    def __init__(self, path: Path, connect: Connect | None = None) -> None:
        self._path = path
        self._connect = connect
        self._lock = WriterLock(path)
        self._file: JobFile | None = None
        self._identity: tuple[tuple[int, int], ...] = ()
        self._waiting: list[Entry] = []
        self.n = 0
        self.head = GENESIS
        self.failure: RecordError | None = None

    @property
    def waiting(self) -> tuple[str, ...]:
        """Texts of the events that the disk has not taken, in order."""
        return tuple(entry.text for entry in self._waiting)

    def open(self, since: str) -> int:
        """
        Take the lock and open the file; returns the number of its last event.

        Raises:
            RecordError: in the kind that tells why not.
        """
        self._lock.take(since)
        try:
            self._file = open_for_writing(self._path, self._connect)
            self.n, self.head = _last_link(self._file)
        except BaseException:
            self.close()
            raise
        return self.n

    def commit(self, entries: Sequence[Entry]) -> None:
        """Make entries durable in one transaction, in order, and tell their futures; never raises."""
        self._waiting.extend(entries)
        if self.failure is None:
            self.failure = self._write_waiting()
        if self.failure is not None:
            self._fail_waiting(self.failure)

    def retry(self) -> None:
        """
        Open the file anew and write what was left waiting.

        Raises:
            RecordError: the disk still does not take it; everything is still waiting.
        """
        if self.failure is not None:
            try:
                self._reopen()
            except RecordError as error:
                self.failure = error
                raise
        self.failure = self._write_waiting()
        if self.failure is not None:
            raise self.failure

    def checkpoint(self) -> None:
        """
        Move all that is committed into the job file itself.

        Raises:
            RecordNotWritten: the disk does not take it; what was committed stays committed.
        """
        try:
            self._open_file().checkpoint()
        except sqlite3.Error as error:
            raise disk_error(error, self._path) from error

    def copy_to(self, out: Path) -> None:
        """
        A whole copy of what is committed.

        Raises:
            RecordError: as `JobFile.copy_to`.
        """
        self._open_file().copy_to(out)

    def close(self) -> None:
        """Close the file, leaving one plain file where the disk lets it, and let the next writer in."""
        try:
            self._close_file()
        finally:
            self._lock.release()

    def _open_file(self) -> JobFile:
        if self._file is None:
            raise self.failure or RecordNotWritten(f"{self._path.name} is closed")
        return self._file

    def _close_file(self) -> None:
        file, self._file = self._file, None
        if file is not None:
            with suppress(sqlite3.Error):
                file.close()

    def _write_waiting(self) -> RecordError | None:
        """Why the disk does not take what is waiting, or None once it has."""
        if not self._waiting:
            return None
        try:
            digests = self._transaction(self._open_file().connection)
            self._require_same_file()
        except RecordError as error:
            return error
        except Exception as error:  # noqa: BLE001  # whatever it is, whoever waits must be told that nothing is stored
            return disk_error(error, self._path)
        written, self._waiting = self._waiting, []
        for entry, digest in zip(written, digests, strict=True):
            if not entry.committed.done():
                entry.committed.set_result(digest)
        self.n, self.head = written[-1].n, digests[-1]
        return None

    def _transaction(self, connection: sqlite3.Connection) -> list[bytes]:
        head, digests = self.head, []
        connection.execute("BEGIN IMMEDIATE")
        try:
            for entry in self._waiting:
                for data in entry.chunks:
                    key = hashlib.sha256(data).digest()
                    connection.execute("INSERT OR IGNORE INTO chunks VALUES (?, ?)", (key, data))
                head = link_digest(head, entry.text)
                digests.append(head)
                connection.execute("INSERT INTO events VALUES (?, ?, ?)", (entry.n, entry.text, head))
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        return digests

    def _require_same_file(self) -> None:
        """An open file that was deleted or replaced still takes every commit, and they are lost with it."""
        try:
            found = tuple(_identity(self._path.with_name(self._path.name + suffix)) for suffix in ("", "-wal"))
        except OSError as error:
            raise RecordNotWritten(
                f"{self._path.name} is no longer where it was: moved, deleted, or its drive removed"
            ) from error
        self._identity = self._identity or found
        if found != self._identity:
            raise RecordNotWritten(f"{self._path.name} was replaced by another file while it was being written")

    def _fail_waiting(self, failure: RecordError) -> None:
        for entry in self._waiting:
            if not entry.committed.done():
                entry.committed.set_exception(failure)

    def _reopen(self) -> None:
        self._close_file()
        self._identity = ()
        file = open_for_writing(self._path, self._connect)
        self._file = file
        n, head = _last_link(file)
        if self.n > 0 and _digest_at(file, self.n) != self.head:
            raise RecordDamaged(f"{self._path.name} is not the file that was being written: its event {self.n} differs")
        landed = [entry for entry in self._waiting if entry.n <= n]
        # a commit that was reported as failed may have reached the disk all the same
        if any(_text_at(file, entry.n) != entry.text for entry in landed) or n > self.n + len(landed):
            raise RecordDamaged(f"{self._path.name} was written by somebody else meanwhile")
        self._waiting = self._waiting[len(landed) :]
        self.n, self.head = n, head


def _identity(path: Path) -> tuple[int, int]:
    found = path.stat()
    return (found.st_dev, found.st_ino)


def _digest_at(file: JobFile, n: int) -> bytes | None:
    row = file.connection.execute("SELECT digest FROM events WHERE n = ?", (n,)).fetchone()
    return None if row is None else bytes(row[0])


def _text_at(file: JobFile, n: int) -> str | None:
    row = file.connection.execute("SELECT text FROM events WHERE n = ?", (n,)).fetchone()
    return None if row is None else str(row[0])


def _last_link(file: JobFile) -> tuple[int, bytes]:
    """Number and digest of the last event, after proving that link; the whole chain is `chain`'s business."""
    try:
        rows = file.connection.execute("SELECT n, text, digest FROM events ORDER BY n DESC LIMIT 2").fetchall()
        if not rows:
            return 0, GENESIS
        n, text, digest = rows[0]
        previous = rows[1][2] if len(rows) == 2 else GENESIS
        sound = event_from_text(text).n == n and link_digest(previous, text) == digest
    except (*READ_ERRORS, msgspec.DecodeError, TypeError, AttributeError) as error:
        raise RecordDamaged(f"{file.path.name}: its last event cannot be read") from error
    if not sound:
        raise RecordDamaged(f"{file.path.name}: its last event {n} does not fit the chain; nothing is added to it")
    return int(n), bytes(digest)

"""
`Recorder`: what the rest of the program appends events to.

`append` numbers the event, hands it to the writer thread and returns at once; everything queued meanwhile goes into one
transaction. Nothing here calls SQLite: the thread does, through `Committer`. A verdict is shown only after
`Pending.durable()`.
"""

import asyncio
import hashlib
import queue
import threading
from collections import deque
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

import msgspec

from commission.clock import Clock
from commission.record.body import plain_body
from commission.record.committer import Committer, Entry
from commission.record.errors import RecordError, RecordNotWritten
from commission.record.event import Event, event_from_text
from commission.record.file import Connect, create

T = TypeVar("T")


class Pending(msgspec.Struct, frozen=True):
    """
    An event that has its number and time and is on its way to the disk.

    Args:
        event: The event, as it will be read back.

        committed: Gets the event's digest once it is durable; RecordNotWritten where the disk did not take it.
    """

    event: Event
    committed: Future[bytes]

    @property
    def n(self) -> int:
        """Number of the event."""
        return self.event.n

    @property
    def at_utc(self) -> str:
        """The laptop's clock, RFC 3339."""
        return self.event.at_utc

    @property
    def at_mono_ns(self) -> int:
        """Unit time in nanoseconds."""
        return self.event.at_mono_ns

    async def durable(self) -> Self:
        """
        Wait until the event would survive a power cut. Cancelling the wait does not take the event back.

        Raises:
            RecordNotWritten: the disk did not take it.
        """
        await asyncio.wrap_future(self.committed)
        return self


class _Do(msgspec.Struct, frozen=True):
    """Something else that the writer thread is to do, in its turn."""

    action: Callable[[], Any]
    done: Future[Any]


class Recorder:
    """
    The one writer of a job file; owns the writer thread.

    Args:
        path: The job file.

        session: Which run of the program this is.

        clock: Gives each event its two times.

        new: Create the file first.

        connect: How the writer thread connects; by default SQLite of the standard library.

    Raises:
        RecordError: in the kind that tells why the file cannot be written; RecordHeld where another writer has it.
    """

    def __init__(
        self, path: Path, *, session: str, clock: Clock, new: bool = False, connect: Connect | None = None
    ) -> None:
        self._path = path
        self._session = session
        self._clock = clock
        self._queue: queue.SimpleQueue[Entry | _Do | None] = queue.SimpleQueue()
        self._numbering = threading.Lock()
        self._chunks: list[bytes] = []
        self._subscribers: list[Callable[[Event], None]] = []
        self._to_tell: deque[Event] = deque()
        self._telling = False
        self._closed = False
        self._on_failure: list[Callable[[RecordError], None]] = []
        self._committer = Committer(path, connect)
        if new:
            create(path)
        opened: Future[int] = Future()
        self._thread = threading.Thread(target=self._run, args=(opened,), name=f"record {path.name}", daemon=True)
        self._thread.start()
        try:
            self._n = opened.result()
        except RecordError:
            self._closed = True
            self._thread.join()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def path(self) -> Path:
        """The job file."""
        return self._path

    @property
    def session(self) -> str:
        """Which run of the program writes."""
        return self._session

    @property
    def n(self) -> int:
        """Number of the last event appended."""
        return self._n

    @property
    def failed(self) -> RecordError | None:
        """Why the disk takes nothing now, or None where all is well."""
        return self._committer.failure

    @property
    def busy(self) -> bool:
        """Whether events are on their way to the disk."""
        return self.failed is None and self._committer.n < self._n

    def on_event(self, callback: Callable[[Event], None]) -> None:
        """
        Call `callback` with every event, in the order of their numbers, on the thread that appends, before `append`
        returns. An event that a callback appends is told when the round of the present one is over.
        """
        self._subscribers.append(callback)

    def on_failure(self, callback: Callable[[RecordError], None]) -> None:
        """Call `callback` when the disk stops taking events: on the writer thread, so it must only hand over."""
        self._on_failure.append(callback)

    def append_chunk(self, data: bytes) -> str:
        """
        Store `data` with the next event appended, in the same transaction; that event names the digest.

        Returns:
            SHA-256 of `data`, hex.
        """
        with self._numbering:
            self._chunks.append(data)
        return hashlib.sha256(data).hexdigest()

    def append(self, kind: str, body: Mapping[str, Any], *, by: str, need: bool = False, v: int = 1) -> Pending:
        """
        Record an event; returns at once with its number and time.

        Args:
            kind: Name of the event, a past participle.

            body: The facts; structs, enums, tuples and dates are turned into plain JSON values here.

            by: Whose word it is: a person's name, `unit`, or `program`.

            need: True where a program that does not know the kind must not write to this job.

            v: Version of this kind's body.

        Raises:
            ValueError: the body holds a value that JSON cannot keep; the message names the place.

            RecordNotWritten: the record is closed.
        """
        plain = plain_body(body)
        with self._numbering:
            if self._closed:
                raise RecordNotWritten(f"{self._path.name} is closed; {kind} was not recorded")
            written = Event(
                n=self._n + 1,
                session=self._session,
                at_utc=self._clock.utc().isoformat(timespec="microseconds").replace("+00:00", "Z"),
                at_mono_ns=self._clock.unit_ns(),
                by=by,
                kind=kind,
                v=v,
                need=need,
                body=plain,
            )
            text = written.text()
            event = event_from_text(text)  # what a fold sees now is what a replay will see
            chunks, self._chunks = tuple(self._chunks), []
            committed = _running_future()
            self._n = event.n
            self._to_tell.append(event)
            self._queue.put(Entry(event.n, text, chunks, committed))
        self._tell()
        return Pending(event, committed)

    def checkpoint(self) -> Future[None]:
        """Move all that is committed into the job file itself: at each step's end."""
        return self._do(self._committer.checkpoint)

    def copy_to(self, out: Path) -> Future[None]:
        """A whole copy of all that was appended so far, at `out`, which must not exist."""
        return self._do(lambda: self._committer.copy_to(out))

    def retry(self) -> Future[None]:
        """After a failure: open the file again and write all that was left waiting, in order."""
        return self._do(self._committer.retry)

    def close(self) -> None:
        """
        Write what is queued, close the file, end the thread. Closing twice is harmless.

        Raises:
            RecordNotWritten: some events never reached the disk, even at a last try; says how many.
        """
        with self._numbering:
            was_closed, self._closed = self._closed, True
        if was_closed:
            return
        self._queue.put(None)
        self._thread.join()
        lost = len(self._committer.waiting)
        if lost:
            raise RecordNotWritten(f"{self._path.name}: the last {lost} event(s) could not be recorded: {self.failed}")

    def _do(self, action: Callable[[], T]) -> Future[T]:
        done: Future[T] = _running_future()
        with self._numbering:
            if self._closed:
                done.set_exception(RecordNotWritten(f"{self._path.name} is closed"))
            else:
                self._queue.put(_Do(action, done))
        return done

    def _tell(self) -> None:
        if self._telling:
            return
        self._telling = True
        try:
            while self._to_tell:
                event = self._to_tell.popleft()
                for callback in self._subscribers:
                    callback(event)
        finally:
            self._telling = False

    def _run(self, opened: Future[int]) -> None:
        try:
            opened.set_result(self._committer.open(self._clock.utc().isoformat(timespec="seconds")))
        except BaseException as error:  # noqa: BLE001  # the thread that opens is told, whatever it is
            opened.set_exception(
                error if isinstance(error, RecordError) else RecordNotWritten(f"{self._path.name}: {error}")
            )
            return
        try:
            while self._serve():
                pass
        finally:
            if self._committer.failure is not None:
                _attempt(self._committer.retry, Future())
            self._committer.close()

    def _serve(self) -> bool:
        """Do what is queued; False where that was the end."""
        entries: list[Entry] = []
        item = self._queue.get()
        while isinstance(item, Entry):
            entries.append(item)
            try:
                item = self._queue.get_nowait()
            except queue.Empty:
                self._commit(entries)
                return True
        if entries:
            self._commit(entries)
        if item is None:
            return False
        _attempt(item.action, item.done)
        return True

    def _commit(self, entries: list[Entry]) -> None:
        had_failed = self._committer.failure is not None
        self._committer.commit(entries)
        failure = self._committer.failure
        if failure is not None and not had_failed:
            for callback in self._on_failure:
                _attempt(partial(callback, failure), Future())


def _running_future() -> Future[Any]:
    future: Future[Any] = Future()
    future.set_running_or_notify_cancel()  # from here on nobody can cancel it
    return future


def _attempt(action: Callable[[], T], done: Future[T]) -> None:
    try:
        done.set_result(action())
    except Exception as error:  # noqa: BLE001  # whoever waits is told, whatever it is; the thread lives on
        done.set_exception(error)

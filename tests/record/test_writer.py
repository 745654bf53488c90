"""What the rest of the program sees of recording: numbers at once, durability on asking, failures in words."""

import asyncio
import contextlib
import threading
from collections.abc import Iterator
from concurrent.futures import CancelledError, Future
from pathlib import Path
from typing import Any

import pytest

from commission.clock import NS_PER_S, Clock
from commission.record.chain import check_chain
from commission.record.errors import NotARecord, RecordError, RecordHeld, RecordMissing, RecordNotWritten
from commission.record.event import GENESIS, Event, link_digest
from commission.record.reader import Reader, chunks_named
from commission.record.writer import Recorder
from tests.virtual_time import VirtualLoop, run_virtual, virtual_clock

resource = pytest.importorskip("resource", reason="limits on a file's size are set through the POSIX module")


@pytest.fixture
def recorder(tmp_path: Path) -> Iterator[Recorder]:
    """An open recorder on a new job."""
    opened = Recorder(tmp_path / "a.job", session="s1", clock=Clock(), new=True)
    yield opened
    with contextlib.suppress(RecordError):
        opened.close()


@contextlib.contextmanager
def _files_limited_to(size: int) -> Iterator[None]:
    """Files of this process can't grow past `size` bytes: as good as a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def _failure(recorder: Recorder) -> RecordError | None:
    return recorder.failed


def _events(path: Path) -> list[Event]:
    with Reader(path) as reader:
        return list(reader.events())


def test_number_and_times_come_at_once(tmp_path: Path) -> None:
    """The event has its number, both times, session and author before it is on the disk."""
    loop = VirtualLoop()
    clock = virtual_clock(loop)
    with Recorder(tmp_path / "a.job", session="s1", clock=clock, new=True) as recorder:
        loop.jump(2.5)
        pending = recorder.append("remark_made", {"remark": "wet"}, by="T. Placeholder", need=True, v=2)
        assert (pending.n, pending.at_mono_ns) == (1, clock.unit_ns())
        assert pending.at_utc == "2026-05-12T06:40:02.500000Z"
        digest = pending.committed.result(10)
    loop.close()
    (event,) = _events(tmp_path / "a.job")
    assert event == pending.event
    assert (event.session, event.by, event.need, event.v) == ("s1", "T. Placeholder", True, 2)
    assert digest == link_digest(GENESIS, event.text())


def test_unit_time_and_utc_follow_the_clock_of_a_fast_practice_unit(tmp_path: Path) -> None:
    """At ten times the speed both times of an event gain alike."""
    wire_ns = [0]
    clock = Clock(wire_ns=lambda: wire_ns[0], spin_s=0)
    clock.run_at(10)
    with Recorder(tmp_path / "a.job", session="s", clock=clock, new=True) as recorder:
        wire_ns[0] = 3 * NS_PER_S
        assert recorder.append("k", {}, by="T").at_mono_ns == 30 * NS_PER_S


def test_durable_is_awaited_without_blocking_the_loop(recorder: Recorder) -> None:
    """An async caller gets its event back once it would survive a power cut."""

    async def visit() -> int:
        pending = await recorder.append("k", {}, by="T").durable()
        assert pending.committed.done()
        return pending.n

    assert asyncio.run(visit()) == 1


def test_virtual_time_stands_still_while_the_disk_works(tmp_path: Path) -> None:
    """In virtual time a commit takes none, however long the disk takes: figures of a visit stay exact."""

    async def visit() -> list[int]:
        loop = asyncio.get_running_loop()
        assert isinstance(loop, VirtualLoop)
        clock = virtual_clock()
        took_ns = []
        with Recorder(tmp_path / "a.job", session="s", clock=clock, new=True) as recorder:
            loop.real_work.append(lambda: recorder.busy)
            ticking = asyncio.ensure_future(_tick(clock))
            for _ in range(50):
                pending = recorder.append("k", {"text": "x" * 50_000}, by="T")
                await pending.durable()
                took_ns.append(clock.unit_ns() - pending.at_mono_ns)
            ticking.cancel()
            await asyncio.gather(ticking, return_exceptions=True)
        return took_ns

    assert run_virtual(visit()) == [0] * 50


async def _tick(clock: Clock) -> None:
    while True:
        await clock.sleep_unit(0.001)


def test_cancelling_the_wait_does_not_take_the_event_back(recorder: Recorder) -> None:
    """A stopped task leaves its event in the record."""

    async def visit() -> None:
        waiting = asyncio.ensure_future(recorder.append("k", {}, by="T").durable())
        await asyncio.sleep(0)
        waiting.cancel()
        with contextlib.suppress(asyncio.CancelledError, CancelledError):
            await waiting

    asyncio.run(visit())
    recorder.append("k2", {}, by="T").committed.result(10)
    assert [event.kind for event in _events(recorder.path)] == ["k", "k2"]


def test_close_loses_nothing_that_is_queued(recorder: Recorder) -> None:
    """A thousand events appended at a stroke are all on the disk after close, in order and chained."""
    futures = [recorder.append("k", {"i": i}, by="T").committed for i in range(1000)]
    recorder.close()
    recorder.close()
    assert all(future.done() and future.exception() is None for future in futures)
    report = check_chain(recorder.path)
    assert (report.intact, report.last) == (True, 1000)
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("record ")]


def test_a_closed_record_says_so(recorder: Recorder) -> None:
    """Appending and asking after close is refused in words."""
    recorder.close()
    with pytest.raises(RecordNotWritten, match=r"a\.job is closed; k was not recorded"):
        recorder.append("k", {}, by="T")
    with pytest.raises(RecordNotWritten, match="is closed"):
        recorder.checkpoint().result(10)


def test_a_second_session_goes_on_where_the_first_ended(recorder: Recorder) -> None:
    """Numbers and chain go on; the session tells them apart."""
    recorder.append("k", {}, by="T")
    recorder.close()
    with Recorder(recorder.path, session="s2", clock=Clock()) as second:
        assert second.n == 1
        assert second.append("k", {}, by="T").n == 2
    assert [(event.n, event.session) for event in _events(recorder.path)] == [(1, "s1"), (2, "s2")]
    assert check_chain(recorder.path).intact


def test_a_second_writer_is_refused_with_a_sentence(recorder: Recorder) -> None:
    """While one writes, another is told who; the first goes on undisturbed; then the other gets in."""
    with pytest.raises(RecordHeld, match="is being written by"):
        Recorder(recorder.path, session="s2", clock=Clock())
    recorder.append("k", {}, by="T").committed.result(10)
    recorder.close()
    Recorder(recorder.path, session="s2", clock=Clock()).close()


def test_what_cannot_be_opened_is_said_when_opening(tmp_path: Path) -> None:
    """A missing or foreign file is refused before any event, and the lock is free afterwards."""
    path = tmp_path / "a.job"
    with pytest.raises(RecordMissing):
        Recorder(path, session="s", clock=Clock())
    path.write_bytes(b"something else" * 100)
    for _ in range(2):
        with pytest.raises(NotARecord):
            Recorder(path, session="s", clock=Clock())


def test_subscribers_are_told_in_order_on_the_thread_that_appends(recorder: Recorder) -> None:
    """Each sees every event in the order of numbers, also of events that one of them appends."""
    told: list[tuple[str, int]] = []
    threads: set[threading.Thread] = set()

    def first(event: Event) -> None:
        threads.add(threading.current_thread())
        told.append(("first", event.n))
        if event.kind == "selector_changed":
            recorder.append("leave_withdrawn", {}, by="program")

    recorder.on_event(first)
    recorder.on_event(lambda event: told.append(("second", event.n)))
    recorder.append("selector_changed", {}, by="unit")
    recorder.append("k", {}, by="T")
    assert told == [(who, n) for n in (1, 2, 3) for who in ("first", "second")]
    assert threads == {threading.current_thread()}


def test_a_body_that_json_cannot_keep_is_refused_and_takes_no_number(recorder: Recorder) -> None:
    """A refused event leaves no hole."""
    with pytest.raises(ValueError, match=r"body\.bar: found nan"):
        recorder.append("k", {"bar": float("nan")}, by="T")
    assert recorder.append("k", {}, by="T").n == 1


def test_a_chunk_is_durable_with_the_event_that_names_it(recorder: Recorder) -> None:
    """When the event is, its chunk is; a chunk that no event followed is not stored."""
    digest = recorder.append_chunk(b"data")
    recorder.append("samples_stored", {"chunk": digest}, by="program").committed.result(10)
    with Reader(recorder.path) as reader:
        (event,) = reader.events()
        assert chunks_named(event) == (digest,)
        assert reader.chunk(digest) == b"data"
    recorder.append_chunk(b"named by nobody")
    recorder.close()
    assert check_chain(recorder.path).unnamed_chunks == ()


def test_the_same_chunk_twice_is_stored_once(recorder: Recorder) -> None:
    """Equal data has one digest and one row."""
    for _ in range(2):
        recorder.append("samples_stored", {"chunk": recorder.append_chunk(b"same")}, by="program")
    recorder.close()
    report = check_chain(recorder.path)
    assert (report.intact, report.chunks) == (True, 1)


def test_checkpoint_puts_all_into_the_one_file(recorder: Recorder) -> None:
    """After a step's end the job file alone, without its log, holds every event so far."""
    recorder.append("k", {}, by="T")
    recorder.checkpoint().result(10)
    assert recorder.path.with_name("a.job-wal").stat().st_size == 0
    assert recorder.path.stat().st_size >= 4 * 4096


def test_a_full_disk_is_said_and_nothing_is_lost_once_there_is_space(recorder: Recorder) -> None:
    """Futures, `failed` and the callback tell; what was appended meanwhile is written by `retry`, in order."""
    told: Future[RecordError] = Future()
    recorder.on_failure(told.set_result)
    recorder.append("k", {}, by="T").committed.result(10)
    with _files_limited_to(64 * 1024):
        failing = [recorder.append("k", {"text": "x" * 4000, "i": i}, by="T").committed for i in range(40)]
        with pytest.raises(RecordNotWritten, match="full"):
            failing[-1].result(10)
        assert "full" in str(told.result(10))
        assert _failure(recorder) is told.result()
        with pytest.raises(RecordNotWritten):
            recorder.retry().result(10)
        late = recorder.append("k", {}, by="T").committed
        with pytest.raises(RecordNotWritten):
            late.result(10)
    recorder.retry().result(10)
    assert _failure(recorder) is None
    recorder.append("k", {}, by="T").committed.result(10)
    recorder.close()
    report = check_chain(recorder.path)
    assert (report.intact, report.last, report.events) == (True, 43, 43)


def test_what_never_reached_the_disk_is_counted_at_close(recorder: Recorder) -> None:
    """With the disk still full, close ends the thread, frees the lock and says how many are lost."""
    with _files_limited_to(16 * 1024):
        with pytest.raises(RecordNotWritten):
            recorder.append("k", {"text": "x" * 40_000}, by="T").committed.result(10)
        with pytest.raises(RecordNotWritten, match=r"the last 1 event\(s\) could not be recorded"):
            recorder.close()
    with Recorder(recorder.path, session="s2", clock=Clock()) as second:
        assert second.n == 0


def test_a_file_taken_away_is_noticed_before_anything_is_called_stored(recorder: Recorder) -> None:
    """The system would take every commit into a deleted file; here it fails, and goes on once the file is back."""
    recorder.append("k", {}, by="T").committed.result(10)
    folder = recorder.path.parent / "elsewhere"
    folder.mkdir()
    moved: list[tuple[Path, Path]] = []
    for suffix in ("", "-wal", "-shm"):
        here = recorder.path.with_name(recorder.path.name + suffix)
        moved.append((here, folder / here.name))
        here.rename(folder / here.name)
    with pytest.raises(RecordNotWritten, match="no longer where it was"):
        recorder.append("k", {}, by="T").committed.result(10)
    with pytest.raises(RecordError):
        recorder.retry().result(10)
    for here, there in moved:
        if there.exists():
            there.rename(here)
    recorder.retry().result(10)
    recorder.append("k", {}, by="T").committed.result(10)
    recorder.close()
    report = check_chain(recorder.path)
    assert (report.intact, report.last) == (True, 3)


def test_another_file_in_its_place_is_not_written_to(recorder: Recorder, tmp_path: Path) -> None:
    """A record that was swapped under the program is refused, and stays as it is."""
    recorder.append("k", {}, by="T").committed.result(10)
    other = tmp_path / "other.job"
    with Recorder(other, session="s", clock=Clock(), new=True) as second:
        second.append("something else", {}, by="S")
    before = other.read_bytes()
    other.replace(recorder.path)
    with pytest.raises(RecordNotWritten, match="replaced by another file"):
        recorder.append("k", {}, by="T").committed.result(10)
    recorder.path.with_name("a.job-wal").unlink()
    with pytest.raises(RecordError):
        recorder.retry().result(10)
    with Reader(recorder.path) as reader:
        assert [event.kind for event in reader.events()] == ["something else"]
    assert len(before) == recorder.path.stat().st_size


def test_no_sqlite_call_is_made_on_the_callers_thread(tmp_path: Path) -> None:
    """Whatever is asked, SQLite works on the writer thread only: a slow disk never holds up the loop."""
    threads: set[str] = set()

    def connect(path: Path) -> Any:
        import sqlite3

        connection = sqlite3.connect(path, isolation_level=None)
        connection.set_trace_callback(lambda _: threads.add(threading.current_thread().name))
        return connection

    path = tmp_path / "a.job"
    with Recorder(path, session="s", clock=Clock(), new=True, connect=connect) as recorder:
        recorder.append("k", {"chunk": recorder.append_chunk(b"d")}, by="T")
        recorder.checkpoint().result(10)
        recorder.copy_to(tmp_path / "b.job").result(10)
    assert threads == {"record a.job"}

"""Events come out in order, unknown kinds too; chunks by digest, proved."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from commission.clock import Clock
from commission.record.errors import RecordDamaged
from commission.record.event import Event
from commission.record.reader import Reader, chunks_named, unknown_needs
from commission.record.writer import Recorder
from tests.record.small_job import PLAN, Write, chunk_of


def _event(n: int, kind: str, *, need: bool, v: int = 1) -> Event:
    return Event(n=n, session="s", at_utc="", at_mono_ns=0, by="T", kind=kind, v=v, need=need, body={})


def test_events_come_in_order_and_from_any_number(write: Write) -> None:
    """All of them across the pages in which they are fetched, and those after a number."""
    with Reader(write(count=1203)) as reader:
        assert [event.n for event in reader.events()] == list(range(1, 1204))
        assert [event.n for event in reader.events(after=1000)] == list(range(1001, 1204))
        assert next(iter(reader.events())).body == {"remark": "reading 0, 5 µm", "bar": 60.25}
        assert reader.head()[0] == 1203


def test_an_empty_job_has_no_head(write: Write) -> None:
    """A job in which nothing happened yet reads as such."""
    with Reader(write(count=0)) as reader:
        assert list(reader.events()) == []
        assert reader.head() == (0, "")


def test_samples_come_back_by_the_digest_that_an_event_names(job: Path) -> None:
    """The chunk is found, proved and unpacked."""
    with Reader(job) as reader:
        (digest,) = chunks_named(list(reader.events())[4])
        assert reader.chunk(digest) == chunk_of(4)
        assert reader.samples(digest).plan == PLAN
        assert len(reader.samples(digest).items) == 10


@pytest.mark.parametrize("digest", ["00" * 32, "not hex", ""])
def test_a_chunk_that_is_not_there_is_said(job: Path, digest: str) -> None:
    """A missing chunk is named."""
    with Reader(job) as reader, pytest.raises(RecordDamaged, match="is missing"):
        reader.chunk(digest)


def test_an_altered_chunk_is_said(job: Path) -> None:
    """A chunk is never handed out unproved."""
    with closing(sqlite3.connect(job)) as connection:
        connection.execute("UPDATE chunks SET data = data || x'00'")
        connection.commit()
    with Reader(job) as reader:
        (digest,) = chunks_named(list(reader.events())[4])
        with pytest.raises(RecordDamaged, match="has been altered"):
            reader.chunk(digest)


@pytest.mark.parametrize("text", ["'{'", "'{}'", "x'ff'", "CAST(x'ff' AS TEXT)"])
def test_an_event_that_cannot_be_read_is_said(job: Path, text: str) -> None:
    """Damage comes as a sentence, not as a decoder's error."""
    with closing(sqlite3.connect(job)) as connection:
        connection.execute(f"UPDATE events SET text = {text} WHERE n = 7")  # noqa: S608  # the test's own constants
        connection.commit()
    with Reader(job) as reader, pytest.raises(RecordDamaged, match="cannot be read"):
        list(reader.events())


def test_reading_again_gives_what_subscribers_saw(tmp_path: Path) -> None:
    """A replay from disk is the sequence that was told live."""
    seen: list[Event] = []
    with Recorder(tmp_path / "a.job", session="s", clock=Clock(), new=True) as recorder:
        recorder.on_event(seen.append)
        for i in range(30):
            recorder.append("k", {"tuple": (1, 2.5, i), "text": "µ\n\0"}, by="T")
    with Reader(tmp_path / "a.job") as reader:
        assert list(reader.events()) == seen


def test_chunks_are_found_anywhere_in_a_body() -> None:
    """Under `chunk` or `chunks`, at any depth, and nothing else."""
    body = {"a": [{"chunk": "11"}], "chunks": ["22", "33"], "digest": "44", "b": {"chunk": 5, "plan": "66"}}
    event = Event(n=1, session="s", at_utc="", at_mono_ns=0, by="T", kind="k", v=1, need=False, body=body)
    assert sorted(chunks_named(event)) == ["11", "22", "33"]


def test_an_unknown_kind_that_is_needed_makes_the_job_read_only() -> None:
    """Only a needed one does, and a later version of a known kind counts as unknown."""
    events = [
        _event(1, "known", need=True),
        _event(2, "unknown", need=False),
        _event(3, "unknown", need=True),
        _event(4, "known", need=True, v=2),
        _event(5, "grown", need=True, v=3),
        _event(6, "grown", need=True, v=4),
    ]
    assert [event.n for event in unknown_needs(events, {"known", "grown"}, {"grown": 3})] == [3, 4, 6]
    assert unknown_needs(events[:2], {"known"}) == ()

"""Whatever is altered in a record is found, and what cannot be proved is said."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from random import Random

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from commission.record.chain import UNSIGNED, ChainReport, Flaw, Standing, check_chain, standings
from commission.record.errors import NotARecord, RecordError, RecordMissing
from commission.record.event import GENESIS, Event, link_digest
from commission.record.pages import EventRow
from commission.record.reader import Reader
from tests.record.small_job import Write
from tests.record.test_event import EVENTS


def _change(path: Path, statement: str, values: tuple[object, ...] = ()) -> ChainReport:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(statement, values)
    return check_chain(path)


def _flaws(report: ChainReport) -> list[tuple[Flaw, int]]:
    return [(finding.flaw, finding.n) for finding in report.findings]


def _rows(events: list[Event]) -> list[EventRow]:
    rows, head = [], GENESIS
    for n, event in enumerate(events, start=1):
        text = msgspec.structs.replace(event, n=n).text()
        head = link_digest(head, text)
        rows.append(EventRow(n, text.encode(), head))
    return rows


@settings(max_examples=40)
@given(st.lists(EVENTS, max_size=8))
def test_a_chain_of_any_events_fits(events: list[Event]) -> None:
    """Whatever the events hold, the chain written over them is proved."""
    assert standings(_rows(events)) == [Standing.FITS] * len(events)


@settings(max_examples=40)
@given(st.lists(EVENTS, min_size=3, max_size=6), st.data())
def test_one_altered_text_condemns_that_event_alone(events: list[Event], data: st.DataObject) -> None:
    """The row is found, and those before and after it stay proved."""
    rows = _rows(events)
    index = data.draw(st.integers(0, len(rows) - 1))
    row = rows[index]
    rows[index] = EventRow(row.n, row.text.replace(b'"need":', b'"need": '), row.digest)
    expected = [Standing.FITS] * len(rows)
    expected[index] = Standing.ALTERED
    assert standings(rows) == expected


@settings(max_examples=40)
@given(st.lists(EVENTS, min_size=3, max_size=6), st.data())
def test_an_altered_digest_is_told_from_an_altered_event(events: list[Event], data: st.DataObject) -> None:
    """Where only the digest changed, the next event proves the text."""
    rows = _rows(events)
    index = data.draw(st.integers(0, len(rows) - 2))
    rows[index] = EventRow(rows[index].n, rows[index].text, bytes(32))
    expected = [Standing.FITS] * len(rows)
    expected[index] = Standing.DIGEST_ALTERED
    assert standings(rows) == expected


def test_after_a_gap_the_first_is_unproved() -> None:
    """The event behind a hole cannot be linked; those after it can."""
    rows = _rows([_plain(i) for i in range(6)])
    del rows[2]
    assert standings(rows) == [Standing.FITS] * 2 + [Standing.UNPROVEN] + [Standing.FITS] * 2


def _plain(i: int) -> Event:
    return Event(n=i, session="s", at_utc="", at_mono_ns=i, by="T", kind="k", v=1, need=False, body={})


def test_an_intact_record_is_said_to_be(job: Path) -> None:
    """Counts, head, and the sentence about what an unsigned chain does not prove (R27)."""
    report = check_chain(job)
    with Reader(job) as reader:
        head = reader.head()
    assert (report.intact, report.first_bad, report.events, report.chunks) == (True, None, 20, 4)
    assert (report.last, report.head) == head
    assert report.sentences[-1] == UNSIGNED
    assert report.sentences[1] == "Every link and every chunk is intact."
    assert f"Head digest: {report.head}" in report.sentences


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
@given(n=st.integers(1, 20), at=st.floats(0, 1, exclude_max=True), flip=st.integers(1, 255))
def test_any_single_byte_of_any_event_is_found(job: Path, n: int, at: float, flip: int) -> None:
    """Whichever byte of whichever text changes to whatever, that event is the first bad one."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        (text,) = connection.execute("SELECT CAST(text AS BLOB) FROM events WHERE n = ?", (n,)).fetchone()
        changed = bytearray(text)
        changed[int(at * len(text))] ^= flip
        connection.execute("UPDATE events SET text = CAST(? AS TEXT) WHERE n = ?", (bytes(changed), n))
        report = check_chain(job)
        connection.execute("UPDATE events SET text = CAST(? AS TEXT) WHERE n = ?", (text, n))
    assert report.first_bad == n
    assert report.findings[0].flaw in {Flaw.ALTERED, Flaw.NOT_AN_EVENT}


@pytest.mark.parametrize(
    ("statement", "flaws"),
    [
        ("UPDATE events SET text = replace(text, 'µ', 'm') WHERE n = 7", [(Flaw.ALTERED, 7)]),
        ("UPDATE events SET text = '{}' WHERE n = 7", [(Flaw.NOT_AN_EVENT, 7)]),
        ("UPDATE events SET text = CAST(text AS BLOB) WHERE n = 7", [(Flaw.NOT_AN_EVENT, 7)]),
        ("UPDATE events SET digest = zeroblob(32) WHERE n = 7", [(Flaw.DIGEST_ALTERED, 7)]),
        ("UPDATE events SET digest = zeroblob(32) WHERE n = 20", [(Flaw.ALTERED, 20)]),
        ("DELETE FROM events WHERE n = 1", [(Flaw.MISSING, 1)]),
        ("DELETE FROM events WHERE n BETWEEN 7 AND 9", [(Flaw.MISSING, 7)]),
        ("UPDATE events SET n = 30 WHERE n = 20", [(Flaw.MISSING, 20), (Flaw.NOT_AN_EVENT, 30)]),
        ("INSERT INTO events SELECT 21, text, digest FROM events WHERE n = 20", [(Flaw.NOT_AN_EVENT, 21)]),
        ("INSERT INTO events SELECT 0, text, digest FROM events WHERE n = 1", [(Flaw.NOT_AN_EVENT, 0)]),
    ],
)
def test_each_kind_of_tampering_is_named(job: Path, statement: str, flaws: list[tuple[Flaw, int]]) -> None:
    """What was done, and to which event."""
    report = _change(job, statement)
    assert _flaws(report)[: len(flaws)] == flaws
    assert not report.intact
    assert report.sentences[-1] == UNSIGNED


def test_altered_and_missing_chunks_are_named(job: Path) -> None:
    """A chunk is proved by its own digest, and by the event that names it."""
    with Reader(job) as reader:
        fifth = list(reader.events())[4].body["samples"]["chunk"]
    report = _change(job, "UPDATE chunks SET data = zeroblob(40) WHERE digest = ?", (bytes.fromhex(fifth),))
    assert _flaws(report) == [(Flaw.CHUNK_ALTERED, 0)]
    assert fifth[:12] in report.findings[0].words
    report = _change(job, "DELETE FROM chunks WHERE digest = ?", (bytes.fromhex(fifth),))
    assert _flaws(report) == [(Flaw.CHUNK_MISSING, 5)]
    assert report.first_bad == 5


def test_a_chunk_that_nobody_names_is_told_and_harms_nothing(job: Path) -> None:
    """It is odd; nothing that is recorded changes by it."""
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    report = _change(job, "INSERT INTO chunks VALUES (?, ?)", (bytes.fromhex(digest), b"abc"))
    assert report.intact
    assert report.unnamed_chunks == (digest,)
    assert "1 chunks are named by no event." in report.sentences


def test_what_an_unsigned_chain_cannot_prove_is_not_claimed(job: Path) -> None:
    """An end cut off is not found: the head differs from one noted elsewhere, and the report says that it would."""
    before = check_chain(job)
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        chunk = connection.execute(
            "SELECT json_extract(text, '$.body.samples.chunk') FROM events WHERE n = 20"
        ).fetchone()[0]
        connection.execute("DELETE FROM chunks WHERE digest = ?", (bytes.fromhex(chunk),))
    report = _change(job, "DELETE FROM events WHERE n = 20")
    assert report.intact
    assert report.head != before.head
    assert "neither its end nor its origin" in report.sentences[-1]


def test_an_event_rewritten_with_its_digest_shows_at_the_next(job: Path) -> None:
    """Recomputing one digest only moves the break; one must rewrite everything after it."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        (previous,) = connection.execute("SELECT digest FROM events WHERE n = 6").fetchone()
        (text,) = connection.execute("SELECT text FROM events WHERE n = 7").fetchone()
    altered = text.replace("66.25", "55.25")
    assert altered != text
    report = _change(
        job, "UPDATE events SET text = ?, digest = ? WHERE n = 7", (altered, link_digest(previous, altered))
    )
    assert _flaws(report) == [(Flaw.ALTERED, 8)]


def test_what_is_no_record_is_not_reported_as_damaged(tmp_path: Path) -> None:
    """There is nothing to check in a file that is missing or something else."""
    with pytest.raises(RecordMissing):
        check_chain(tmp_path / "gone.job")
    (tmp_path / "a.job").write_bytes(b"text" * 300)
    with pytest.raises(NotARecord):
        check_chain(tmp_path / "a.job")


def contents(path: Path) -> tuple[list[tuple[int, str]], list[str], tuple[int, str]] | None:
    """Everything that is recorded in a file, or None where it cannot be read."""
    try:
        with Reader(path) as reader:
            texts = list(reader.texts())
            stored = [d.hex() for (d,) in reader._rows("SELECT digest FROM chunks ORDER BY digest", ())]
            for digest in stored:
                reader.chunk(digest)
            return texts, stored, reader.head()
    except RecordError:
        return None


def flip(data: bytes, bit: int) -> bytes:
    """The bytes with one bit the other way."""
    flipped = bytearray(data)
    flipped[bit // 8] ^= 1 << bit % 8
    return bytes(flipped)


def found_or_harmless(path: Path, original: object) -> bool:
    """Whether a damaged copy is found out (True) or holds the same record (False); anything else is a failure."""
    try:
        report = check_chain(path)
    except RecordError:
        return True
    if not report.intact:
        return True
    assert contents(path) == original
    return False


def test_single_bit_flips_are_found_or_change_nothing(
    write: Write, record_property: Callable[[str, object], None]
) -> None:
    """Of 200 seeded bits of the file each is found, or everything that is recorded reads the same."""
    job = write(count=160)
    data, original = job.read_bytes(), contents(job)
    assert original is not None
    random, found = Random(27), 0
    copy = job.with_name("flipped.job")
    for _ in range(200):
        copy.write_bytes(flip(data, random.randrange(len(data) * 8)))
        found += found_or_harmless(copy, original)
    record_property("flipped bits found of 200; the others lie in no row", found)
    assert 80 <= found < 200

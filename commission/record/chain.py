"""
Is the record as it was written? Each link proved, each chunk proved, and what that does not prove said.

Changing a byte of any event or chunk is found. A bit that lies in no row (free space of a page, a page no longer used:
from a third to three quarters of the bits of a small file) changes nothing that is recorded, and is not found. A
chain without a signature proves neither its end nor its origin (safety rule R27): whoever can write the file can cut
its end off, or write the whole of it anew.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from pathlib import Path

import msgspec

from commission.record.errors import RecordDamaged
from commission.record.event import GENESIS, Event, event_from_text, link_digest
from commission.record.file import READ_ERRORS, JobFile, open_for_reading, read_error
from commission.record.pages import EventRow
from commission.record.reader import chunks_named

UNSIGNED = (
    "The chain proves that no event inside it was altered. Without a signature or a head digest noted elsewhere it "
    "proves neither its end nor its origin: later events may have been cut off, or the whole written anew."
)


class Flaw(StrEnum):
    """What is wrong at one place of a record."""

    MISSING = "missing"
    ALTERED = "altered"
    DIGEST_ALTERED = "digest altered"
    NOT_AN_EVENT = "not an event"
    CHUNK_MISSING = "chunk missing"
    CHUNK_ALTERED = "chunk altered"
    UNREADABLE = "unreadable"


class Standing(StrEnum):
    """What the chain says about one row."""

    FITS = "fits"
    UNPROVEN = "unproven"
    ALTERED = "altered"
    DIGEST_ALTERED = "digest altered"
    NOT_AN_EVENT = "not an event"


class Finding(msgspec.Struct, frozen=True):
    """
    One thing that is wrong.

    Args:
        flaw: What.

        n: Number of the event; 0 where it belongs to none.

        words: For a person.
    """

    flaw: Flaw
    n: int
    words: str


class ChainReport(msgspec.Struct, frozen=True):
    """
    What was found in one record.

    Args:
        name: Name of the file.

        events: How many events could be read.

        last: Number of the last one; 0 where there is none.

        chunks: How many chunks could be read.

        head: Digest of the last event, hex; empty where there is none. Noted outside, it proves the end.

        findings: Everything wrong, events first, in their order.

        unnamed_chunks: Digests (hex) of chunks that no event names; odd, and harms nothing.
    """

    name: str
    events: int
    last: int
    chunks: int
    head: str
    findings: tuple[Finding, ...]
    unnamed_chunks: tuple[str, ...] = ()

    @property
    def intact(self) -> bool:
        """Whether everything that is in the record is as it was written."""
        return not self.findings

    @property
    def first_bad(self) -> int | None:
        """The smallest number of an event that is missing, altered or cannot be read."""
        return min((finding.n for finding in self.findings if finding.n > 0), default=None)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The report in words, always ending with what an unsigned chain does not prove."""
        counted = f"{self.name}: {self.events} events, {self.chunks} chunks of samples."
        state = "Every link and every chunk is intact." if self.intact else f"{len(self.findings)} things are wrong."
        odd = [f"{len(self.unnamed_chunks)} chunks are named by no event."] if self.unnamed_chunks else []
        head = [f"Head digest: {self.head}"] if self.head else []
        return (counted, state, *(finding.words for finding in self.findings), *odd, *head, UNSIGNED)


def standings(rows: Sequence[EventRow]) -> list[Standing]:
    """
    What the chain says about each row, in order of number.

    A row whose digest does not follow is altered, unless the next row follows from what its digest should have been:
    then only the digest is. Checking goes on from the stored digest, so one altered row does not condemn the rest.
    """
    found: list[Standing] = []
    last, believed = 0, [GENESIS]
    for row in rows:
        if row.n != last + 1:
            believed = []
        computed = [_link(previous, row.text) for previous in believed]
        if row.digest in computed:
            if computed.index(row.digest) == 1 and found[-1] is Standing.ALTERED:
                found[-1] = Standing.DIGEST_ALTERED
            standing = Standing.FITS
        else:
            standing = Standing.ALTERED if believed else Standing.UNPROVEN
        found.append(standing if event_of(row) is not None else Standing.NOT_AN_EVENT)
        last, believed = row.n, [row.digest, *computed[:1]]
    return found


def event_of(row: EventRow) -> Event | None:
    """The event in a row, or None where its text is none or carries another number."""
    try:
        event = event_from_text(row.text.decode())
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None
    return event if event.n == row.n else None


def check_chain(path: Path) -> ChainReport:
    """
    Check every link and chunk of a record.

    Raises:
        RecordMissing, NotARecord, RecordTooNew: there is no record to check. Damage is reported, not raised.
    """
    try:
        file = open_for_reading(path)
    except RecordDamaged as error:
        return ChainReport(path.name, 0, 0, 0, "", (Finding(Flaw.UNREADABLE, 0, str(error)),))
    with file:
        rows, findings = read_rows(file)
        stored, chunk_findings = _read_chunks(file)
        structure = _structure(file) if not findings else []
    events = [event for event in map(event_of, rows) if event is not None]
    named = {digest: event.n for event in reversed(events) for digest in chunks_named(event)}
    missing = sorted((n, digest) for digest, n in named.items() if digest not in stored)
    return ChainReport(
        name=path.name,
        events=len(rows),
        last=rows[-1].n if rows else 0,
        chunks=len(stored),
        head=rows[-1].digest.hex() if rows else "",
        findings=(
            *_event_findings(rows),
            *findings,
            *(Finding(Flaw.CHUNK_MISSING, n, f"Event {n} names chunk {d[:12]}, which is missing.") for n, d in missing),
            *chunk_findings,
            *structure,
        ),
        unnamed_chunks=tuple(sorted(stored - named.keys())),
    )


def read_rows(file: JobFile) -> tuple[list[EventRow], list[Finding]]:
    """The rows of *events* in order as far as SQLite reads them, and why it stopped, if it did."""
    rows: list[EventRow] = []
    try:
        for n, kind, text, digest in file.connection.execute(
            "SELECT n, typeof(text), CAST(text AS BLOB), CAST(digest AS BLOB) FROM events ORDER BY n"
        ):
            # one by one: what was read before an error counts
            rows.append(EventRow(n, text if kind == "text" else b"", digest or b""))
    except READ_ERRORS as error:
        after = rows[-1].n if rows else 0
        words = f"Nothing can be read after event {after}. {read_error(error, file.path)}."
        return rows, [Finding(Flaw.UNREADABLE, after + 1, words)]
    return rows, []


def _link(previous: bytes, text: bytes) -> bytes:
    try:
        return link_digest(previous, text.decode())
    except UnicodeDecodeError:
        return b""


def _event_findings(rows: Sequence[EventRow]) -> Iterator[Finding]:
    last = 0
    for row, standing in zip(rows, standings(rows), strict=True):
        if row.n > last + 1:
            which = f"Event {last + 1} is" if row.n == last + 2 else f"Events {last + 1} to {row.n - 1} are"
            yield Finding(Flaw.MISSING, last + 1, f"{which} missing.")
        if standing is Standing.ALTERED:
            words = f"Event {row.n} does not follow from the one before it: one of the two was altered."
            yield Finding(Flaw.ALTERED, row.n, words)
        elif standing is Standing.DIGEST_ALTERED:
            words = f"The digest beside event {row.n} was altered; the event itself is proved by the next one."
            yield Finding(Flaw.DIGEST_ALTERED, row.n, words)
        elif standing is Standing.NOT_AN_EVENT:
            yield Finding(Flaw.NOT_AN_EVENT, row.n, f"What stands at number {row.n} is not an event of that number.")
        last = row.n


def _read_chunks(file: JobFile) -> tuple[set[str], list[Finding]]:
    stored: set[str] = set()
    findings: list[Finding] = []
    try:
        for digest, data in file.connection.execute(
            "SELECT CAST(digest AS BLOB), CAST(data AS BLOB) FROM chunks NOT INDEXED"
        ):
            name = (digest or b"").hex()
            stored.add(name)
            if hashlib.sha256(data or b"").digest() != digest:
                findings.append(Finding(Flaw.CHUNK_ALTERED, 0, f"Chunk {name[:12]} was altered."))
    except READ_ERRORS as error:
        findings.append(Finding(Flaw.UNREADABLE, 0, f"Some chunks cannot be read. {read_error(error, file.path)}."))
    return stored, findings


def _structure(file: JobFile) -> list[Finding]:
    """What SQLite's own check says: an index that hides a chunk alters no row and is still wrong."""
    try:
        said: Iterable[tuple[str]] = file.connection.execute("PRAGMA integrity_check(5)").fetchall()
    except READ_ERRORS as error:
        said = [(str(read_error(error, file.path)),)]
    return [
        Finding(Flaw.UNREADABLE, 0, f"The file's structure is damaged: {text}.") for (text,) in said if text != "ok"
    ]

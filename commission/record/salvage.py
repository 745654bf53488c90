"""
Save what is intact of a damaged record into a new one.

The events saved keep their number, text and digest to the letter, so the chain still proves them; where some are
missing, `check_chain` of the new file says so. A last event, `record_salvaged`, says what was saved and what was not;
it carries `need`, so that a job with holes in it is shown and not worked on.
"""

import hashlib
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing
from pathlib import Path

import msgspec

from commission.clock import Clock
from commission.record.chain import Standing, event_of, read_rows, standings
from commission.record.errors import RecordDamaged, RecordError, RecordMissing
from commission.record.event import GENESIS, Event, link_digest
from commission.record.file import READ_ERRORS, connect_writing, create, disk_error, open_for_reading
from commission.record.pages import ChunkRow, EventRow, Pages
from commission.record.reader import chunks_named

_CHUNKS = "SELECT CAST(digest AS BLOB), CAST(data AS BLOB) FROM chunks NOT INDEXED"
_KEPT = {Standing.FITS, Standing.DIGEST_ALTERED, Standing.UNPROVEN}


class Salvaged(msgspec.Struct, frozen=True):
    """
    What could be saved.

    Args:
        intact_to: All events up to this number are proved.

        after_damage: Events saved from beyond the first damage.

        unproven: Those of them whose own link cannot be proved, because the one before is lost.

        lost: Numbers between the saved ones for which nothing was saved.

        chunks: How many chunks were saved.

        lost_chunks: Digests (hex) of chunks that a saved event names and that were not found.
    """

    intact_to: int
    after_damage: tuple[int, ...]
    unproven: tuple[int, ...]
    lost: tuple[int, ...]
    chunks: int
    lost_chunks: tuple[str, ...]


def salvage(path: Path, out: Path, clock: Clock | None = None) -> Salvaged:
    """
    Save every event that is intact, before and after the damage, with the chunks, into a new file.

    Args:
        path: The damaged record; it is only read.

        out: The new file; must not exist.

        clock: Dates the closing event.

    Raises:
        RecordMissing: there is no such file.

        RecordDamaged: nothing in it is an event.

        RecordNotWritten: `out` exists or cannot be written.
    """
    if not path.is_file():
        raise RecordMissing(f"{path}: there is no such file")
    rows, chunks = _gather(path)
    judged = list(zip(rows, standings(rows), strict=True))
    kept = [(row, standing) for row, standing in judged if standing in _KEPT]
    if not kept:
        raise RecordDamaged(f"{path.name}: no event in it is intact; nothing was saved")
    saved = _account(kept, chunks)
    closing_event = _closing_event(path, saved, kept[-1][0], clock or Clock())
    create(out)
    _write(out, [row for row, _ in kept], chunks.values(), closing_event)
    return saved


def _gather(path: Path) -> tuple[list[EventRow], dict[bytes, ChunkRow]]:
    """All rows: as SQLite reads them where it does so to the end, and from the raw pages otherwise."""
    candidates: dict[int, list[EventRow]] = {}
    chunks: dict[bytes, ChunkRow] = {}
    whole = False
    try:
        with open_for_reading(path) as file:
            rows, findings = read_rows(file)
            whole = not findings
            for row in rows:
                candidates.setdefault(row.n, []).append(row)
            _keep_chunks(chunks, (ChunkRow(*row) for row in file.connection.execute(_CHUNKS)))
    except (RecordError, *READ_ERRORS):
        whole = False
    if not whole:
        for found in Pages(path).rows():
            if isinstance(found, EventRow):
                candidates.setdefault(found.n, []).append(found)
            else:
                _keep_chunks(chunks, [found])
    return _choose(candidates), chunks


def _keep_chunks(chunks: dict[bytes, ChunkRow], found: Iterable[ChunkRow]) -> None:
    for row in found:
        if hashlib.sha256(row.data).digest() == row.digest:
            chunks[row.digest] = row


def _choose(candidates: dict[int, list[EventRow]]) -> list[EventRow]:
    """Where a number was found more than once, the row that follows from the one before."""
    rows: list[EventRow] = []
    for n in sorted(candidates):
        previous = rows[-1].digest if rows and rows[-1].n == n - 1 else GENESIS
        events = [row for row in candidates[n] if event_of(row) is not None]
        following = [row for row in events if link_digest(previous, row.text.decode()) == row.digest]
        rows.extend((following or events)[:1])
    return rows


def _account(kept: Sequence[tuple[EventRow, Standing]], chunks: dict[bytes, ChunkRow]) -> Salvaged:
    numbers = [row.n for row, _ in kept]
    intact_to = 0
    for row, standing in kept:
        if row.n != intact_to + 1 or standing is Standing.UNPROVEN:
            break
        intact_to = row.n
    present = set(numbers)
    events = [event for event in (event_of(row) for row, _ in kept) if event is not None]
    named = {digest for event in events for digest in chunks_named(event)}
    return Salvaged(
        intact_to=intact_to,
        after_damage=tuple(n for n in numbers if n > intact_to),
        unproven=tuple(row.n for row, standing in kept if standing is Standing.UNPROVEN),
        lost=tuple(n for n in range(1, numbers[-1]) if n not in present),
        chunks=len(chunks),
        lost_chunks=tuple(sorted(named - {digest.hex() for digest in chunks})),
    )


def _closing_event(path: Path, saved: Salvaged, last: EventRow, clock: Clock) -> EventRow:
    event = Event(
        n=last.n + 1,
        session="salvage",
        at_utc=clock.utc().isoformat(timespec="microseconds").replace("+00:00", "Z"),
        at_mono_ns=clock.unit_ns(),
        by="program",
        kind="record_salvaged",
        v=1,
        need=True,
        body={"source": path.name, "source_sha256": _file_digest(path), **msgspec.to_builtins(saved)},
    )
    text = event.text()
    return EventRow(event.n, text.encode(), link_digest(last.digest, text))


def _file_digest(path: Path) -> str:
    """SHA-256 of the file's bytes; empty where the disk does not give them all."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def _write(out: Path, rows: Sequence[EventRow], chunks: Iterable[ChunkRow], last: EventRow) -> None:
    try:
        with closing(connect_writing(out)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany("INSERT INTO chunks VALUES (?, ?)", [(row.digest, row.data) for row in chunks])
            connection.executemany(
                "INSERT INTO events VALUES (?, ?, ?)", [(row.n, row.text.decode(), row.digest) for row in (*rows, last)]
            )
            connection.execute("COMMIT")
    except sqlite3.Error as error:
        raise disk_error(error, out) from error

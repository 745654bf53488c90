"""
Read a job file: events in their order, chunks by digest. Nothing is ever changed by reading.

Events of unknown kinds come out like any other; whether the program may write to a job that holds some is asked of
`unknown_needs`.
"""

import hashlib
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import msgspec

from commission.record.chunks import Chunk, unpack
from commission.record.errors import RecordDamaged
from commission.record.event import Event, event_from_text
from commission.record.file import READ_ERRORS, open_for_reading, read_error

_PAGE_ROWS = 500


class Reader:
    """
    A job file, open for reading.

    Args:
        path: The job file.

    Raises:
        RecordMissing, NotARecord, RecordTooNew, RecordDamaged: as named.
    """

    def __init__(self, path: Path) -> None:
        self._file = open_for_reading(path)
        self._path = path

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; closing twice is harmless."""
        self._file.close()

    def texts(self, after: int = 0) -> Iterator[tuple[int, str]]:
        """
        Number and stored text of each event after number `after`.

        Raises:
            RecordDamaged: part of the file cannot be read.
        """
        while True:
            rows = self._rows("SELECT n, text FROM events WHERE n > ? ORDER BY n LIMIT ?", (after, _PAGE_ROWS))
            yield from rows
            if len(rows) < _PAGE_ROWS:
                return
            after = rows[-1][0]

    def events(self, after: int = 0) -> Iterator[Event]:
        """
        The events after number `after`, as stored; `upcasts.upcast` brings them up to date.

        Raises:
            RecordDamaged: one cannot be read; says which.
        """
        for n, text in self.texts(after):
            try:
                yield event_from_text(text)
            except (msgspec.DecodeError, TypeError) as error:
                raise RecordDamaged(f"{self._path.name}: event {n} cannot be read ({error})") from error

    def head(self) -> tuple[int, str]:
        """Number and digest (hex) of the last event; 0 and an empty text where there is none."""
        rows = self._rows("SELECT n, digest FROM events ORDER BY n DESC LIMIT 1", ())
        return (rows[0][0], bytes(rows[0][1]).hex()) if rows else (0, "")

    def chunk(self, digest: str) -> bytes:
        """
        The data of a chunk.

        Args:
            digest: SHA-256 of the data, hex, as the event names it.

        Raises:
            RecordDamaged: it is missing or has been altered.
        """
        try:
            rows = self._rows("SELECT CAST(data AS BLOB) FROM chunks WHERE digest = ?", (bytes.fromhex(digest),))
        except ValueError:
            rows = []
        if not rows:
            raise RecordDamaged(f"{self._path.name}: chunk {digest[:12]} is missing")
        data = bytes(rows[0][0] or b"")
        if hashlib.sha256(data).hexdigest() != digest:
            raise RecordDamaged(f"{self._path.name}: chunk {digest[:12]} has been altered")
        return data

    def samples(self, digest: str) -> Chunk:
        """
        The samples of a chunk.

        Raises:
            RecordDamaged: it is missing, altered or of a later format.
        """
        return unpack(self.chunk(digest))

    def copy_to(self, out: Path) -> None:
        """
        A whole copy of the record at `out`.

        Raises:
            RecordNotWritten: `out` exists or cannot be written.
        """
        self._file.copy_to(out)

    def _rows(self, query: str, values: tuple[Any, ...]) -> list[Any]:
        try:
            return self._file.connection.execute(query, values).fetchall()
        except READ_ERRORS as error:
            raise read_error(error, self._path) from error


def chunks_named(event: Event) -> tuple[str, ...]:
    """Digests (hex) of the chunks that an event names: under `chunk` or `chunks`, anywhere in its body."""
    return tuple(_named(event.body))


def unknown_needs(
    events: Iterable[Event], known_kinds: Collection[str], newest: Mapping[str, int] | None = None
) -> tuple[Event, ...]:
    """
    The events that make a job read-only for this program: `need` is true and it does not know their kind.

    Args:
        events: As stored.

        known_kinds: The kinds that this program folds.

        newest: The newest version of a kind that it knows, where that is above 1; a later one counts as unknown.
    """
    versions = newest or {}
    return tuple(
        event
        for event in events
        if event.need and (event.kind not in known_kinds or event.v > versions.get(event.kind, 1))
    )


def _named(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, item in value.items():
            if key == "chunk" and isinstance(item, str):
                yield item
            elif key == "chunks" and isinstance(item, list):
                yield from (name for name in item if isinstance(name, str))
            else:
                yield from _named(item)
    elif isinstance(value, list):
        for item in value:
            yield from _named(item)

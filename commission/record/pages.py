"""
Rows out of the raw pages of a job file, for when SQLite itself gives up.

Reads the leaf pages of tables one by one (SQLite file format, "B-tree Pages", "Record Format", "The Write-Ahead Log"),
so a damaged root, a lost header, a hole or the end cut off costs only the rows that lay there. Nothing found here is
trusted: the caller proves each row by its digest.
"""

import struct
from collections.abc import Iterator
from pathlib import Path

import msgspec

_LEAF = 0x0D
_DEFAULT_PAGE = 4096
_LONGEST = 64 * 2**20
_DIGEST_BLOB = 12 + 2 * 32
_WAL_MAGIC = (0x377F0682, 0x377F0683)


class EventRow(msgspec.Struct, frozen=True):
    """A row that looks like one of *events*."""

    n: int
    text: bytes
    digest: bytes


class ChunkRow(msgspec.Struct, frozen=True):
    """A row that looks like one of *chunks*."""

    digest: bytes
    data: bytes


class Pages:
    """
    The pages of a file that can still be read, with those that its write-ahead log holds newer.

    Args:
        path: The job file.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self.page_size = _page_size(self._read(0, 100))
        self._newer = dict(_wal_pages(path.with_name(path.name + "-wal")))
        if self._newer:
            self.page_size = len(next(iter(self._newer.values())))
        in_file = -(-path.stat().st_size // self.page_size)
        self.count = max([in_file, *self._newer])

    def page(self, number: int) -> bytes:
        """Page `number`, from 1; empty where the disk gives nothing, short where the file ends in it."""
        newer = self._newer.get(number)
        return self._read((number - 1) * self.page_size, self.page_size) if newer is None else newer

    def rows(self) -> Iterator[EventRow | ChunkRow]:
        """All rows that look like ours, in the order of the pages."""
        for number in range(1, self.count + 1):
            page = self.page(number)
            start = 100 if number == 1 else 0
            if len(page) < start + 8 or page[start] != _LEAF:
                continue
            (cells,) = struct.unpack_from(">H", page, start + 3)
            for cell in range(min(cells, len(page) // 4)):
                row = self._row(page, start + 8 + 2 * cell)
                if row is not None:
                    yield row

    def _row(self, page: bytes, pointer: int) -> EventRow | ChunkRow | None:
        try:
            (at,) = struct.unpack_from(">H", page, pointer)
            length, at = _varint(page, at)
            rowid, at = _varint(page, at)
            return _as_row(rowid, self._payload(page, at, length))
        except (IndexError, struct.error, ValueError):
            return None

    def _payload(self, page: bytes, at: int, length: int) -> bytes:
        if length > _LONGEST:
            raise ValueError("no row of ours is that long")
        usable = self.page_size
        most, least = usable - 35, (usable - 12) * 32 // 255 - 23
        if length <= most:
            return page[at : at + length]
        local = least + (length - least) % (usable - 4)
        local = local if local <= most else least
        parts, missing = [page[at : at + local]], length - local
        (following,) = struct.unpack_from(">I", page, at + local)
        while missing > 0 and following:
            overflow = self.page(following)
            (following,) = struct.unpack_from(">I", overflow, 0)
            parts.append(overflow[4 : 4 + min(missing, usable - 4)])
            missing -= usable - 4
        return b"".join(parts)

    def _read(self, offset: int, size: int) -> bytes:
        try:
            with self._path.open("rb") as file:
                file.seek(offset)
                return file.read(size)
        except OSError:  # a bad sector: this page only
            return b""


def _page_size(header: bytes) -> int:
    size = int.from_bytes(header[16:18], "big")
    size = 65536 if size == 1 else size
    return size if size >= 512 and size & (size - 1) == 0 else _DEFAULT_PAGE


def _wal_pages(path: Path) -> Iterator[tuple[int, bytes]]:
    """Page numbers and images of the committed frames of a write-ahead log, oldest first."""
    try:
        log = path.read_bytes()
    except OSError:
        return
    if len(log) < 32 or int.from_bytes(log[:4], "big") not in _WAL_MAGIC:
        return
    size, salts = _page_size(b"\0" * 16 + log[10:12]), log[16:24]
    waiting: list[tuple[int, bytes]] = []
    for start in range(32, len(log) - size - 23, size + 24):
        number, committed = struct.unpack_from(">II", log, start)
        if log[start + 8 : start + 16] != salts:
            return
        waiting.append((number, log[start + 24 : start + 24 + size]))
        if committed:
            yield from waiting
            waiting = []


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for _ in range(8):
        byte = data[at]
        at += 1
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at
    return value << 8 | data[at], at + 1


def _as_row(rowid: int, payload: bytes) -> EventRow | ChunkRow | None:
    header_size, at = _varint(payload, 0)
    kinds = []
    while at < header_size:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if len(kinds) == 3 and kinds[0] == 0 and kinds[1] >= 12 and kinds[2] == _DIGEST_BLOB:
        end = at + (kinds[1] - 12) // 2
        return EventRow(rowid, payload[at:end], payload[end : end + 32])
    if len(kinds) == 2 and kinds[0] == _DIGEST_BLOB and kinds[1] >= 12:
        end = at + 32
        return ChunkRow(payload[at:end], payload[end : end + (kinds[1] - 12) // 2])
    return None

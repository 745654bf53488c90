"""
Simulated power cuts under the real `Recorder`: a VFS of SQLite that knows which bytes have been synced.

Each file has the bytes that are surely on the disk (all that was written before its last sync) and the writes since. A
cut keeps, of those writes, a seeded choice of 512-byte sectors, none of them, or all. `kill -9` cannot tell a durable
setting from a wrong one, because the system's page cache survives it; this can. Not modelled: sectors that come back
with other bytes, a drive that lies about its cache, a folder entry that is lost.
"""

import uuid
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import apsw
import msgspec

from commission.clock import Clock
from commission.record.writer import Recorder
from tests.record.small_job import chunk_of

_SECTOR = 512


class Cut(msgspec.Struct, frozen=True):
    """What a power cut left: the job file (its log beside it), and the last event acknowledged before it."""

    path: Path
    acknowledged: int


class _Disk:
    """The synced bytes of each file, and its writes since; `on_change` is called before each change."""

    def __init__(self, on_change: Callable[[], None]) -> None:
        self.synced: dict[str, bytearray] = {}
        self.since: dict[str, list[tuple[int, bytes | None]]] = {}
        self.on_change = on_change

    def opened(self, name: str) -> None:
        if name not in self.synced:
            path = Path(name)
            self.synced[name] = bytearray(path.read_bytes()) if path.exists() else bytearray()
            self.since[name] = []

    def changed(self, name: str, offset: int, data: bytes | None) -> None:
        """A write, or with None a truncation to `offset`."""
        self.on_change()
        self.since[name].append((offset, data))

    def sync(self, name: str) -> None:
        self.on_change()
        for offset, data in self.since[name]:
            _apply(self.synced[name], offset, data)
        self.since[name] = []

    def deleted(self, name: str) -> None:
        self.on_change()
        self.synced.pop(name, None)
        self.since.pop(name, None)

    def after_a_cut(self, name: str, random: Random) -> bytes:
        """What is found in the file when power is back."""
        image = bytearray(self.synced[name])
        kept = random.choice([0.0, 0.5, 1.0])
        for offset, data in self.since[name]:
            if data is None:
                if random.random() < kept:
                    _apply(image, offset, None)
                continue
            for start in range(0, len(data), _SECTOR):
                if random.random() < kept:
                    _apply(image, offset + start, data[start : start + _SECTOR])
        return bytes(image)


def _apply(image: bytearray, offset: int, data: bytes | None) -> None:
    if data is None:
        del image[offset:]
        return
    image.extend(bytes(max(0, offset - len(image))))
    image[offset : offset + len(data)] = data


class _File(apsw.VFSFile):
    def __init__(self, disk: _Disk, name: Any, flags: list[int]) -> None:
        self._disk = disk
        self._name = str(name.filename() if isinstance(name, apsw.URIFilename) else name)
        disk.opened(self._name)
        super().__init__("", name, flags)

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802  # SQLite's name
        """A write reaches the page cache."""
        self._disk.changed(self._name, offset, bytes(data))
        super().xWrite(data, offset)

    def xTruncate(self, newsize: int) -> None:  # noqa: N802  # SQLite's name
        """So does a truncation."""
        self._disk.changed(self._name, newsize, None)
        super().xTruncate(newsize)

    def xSync(self, flags: int) -> None:  # noqa: N802  # SQLite's name
        """A sync makes all of it durable."""
        super().xSync(flags)
        self._disk.sync(self._name)


class _Vfs(apsw.VFS):
    def __init__(self, disk: _Disk) -> None:
        self.name = f"power-{uuid.UUID(int=id(disk))}"
        self._disk = disk
        super().__init__(self.name, "")

    def xOpen(self, name: Any, flags: list[int]) -> apsw.VFSFile:  # noqa: N802  # SQLite's name
        """Every file goes through the disk's books."""
        return _File(self._disk, name, flags)

    def xDelete(self, filename: str, syncdir: bool) -> None:  # noqa: N802, FBT001  # SQLite's name and order
        """A deletion holds at once."""
        super().xDelete(filename, syncdir)
        self._disk.deleted(filename)


class _Connection(apsw.Connection):
    """Takes the recorder's own statements, but for the setting under test."""

    synchronous = "FULL"

    def execute(self, statements: str, *arguments: Any, **named: Any) -> apsw.Cursor:
        """As sqlite3's connection."""
        return super().execute(
            statements.replace("synchronous=FULL", f"synchronous={self.synchronous}"), *arguments, **named
        )


def cuts_of_a_session(folder: Path, random: Random, *, events: int, cuts: int, synchronous: str = "FULL") -> list[Cut]:
    """
    Record `events` events with chunks and checkpoints, and cut the power about `cuts` times on the way.

    Each cut is what a disk would hold at that moment, saved to a folder of its own; the session itself goes on.
    """
    taken: list[Cut] = []
    acknowledged = [0]
    spacing = max(1, 3 * events // cuts)
    until_cut = [spacing]

    def maybe_cut() -> None:
        until_cut[0] -= 1
        if until_cut[0] == 0:
            until_cut[0] = random.randint(1, 2 * spacing - 1)
            image = folder / f"cut-{len(taken)}"
            image.mkdir()
            for name in disk.synced:
                (image / Path(name).name).write_bytes(disk.after_a_cut(name, random))
            taken.append(Cut(image / "a.job", acknowledged[0]))

    bursts = Random(events)  # the other generator belongs to the writer thread
    disk = _Disk(maybe_cut)
    vfs = _Vfs(disk)

    def connect(path: Path) -> Any:
        connection = _Connection(str(path), apsw.SQLITE_OPEN_READWRITE, vfs.name)
        connection.synchronous = synchronous
        return connection

    def acknowledge(_: object) -> None:
        acknowledged[0] += 1

    with Recorder(folder / "a.job", session="s", clock=Clock(), new=True, connect=connect) as recorder:
        for i in range(events):
            body = {"chunk": recorder.append_chunk(chunk_of(i))} if i % 3 == 0 else {"i": i}
            pending = recorder.append("k", body, by="T")
            pending.committed.add_done_callback(acknowledge)
            if bursts.random() < 0.7:
                pending.committed.result(10)
            if i % 20 == 19:
                recorder.checkpoint().result(10)
    vfs.unregister()
    return taken

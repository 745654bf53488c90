"""A finished job of a practice visit, made once a process, and ways to alter a copy of it as somebody might."""

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from commission.record.event import GENESIS, event_from_text, link_digest
from tests.virtual_time import run_virtual
from tests.visiting import visiting

STROKE = "K1-close-closed-1"


@lru_cache
def _finished() -> bytes:
    async def main(folder: Path) -> None:
        async with visiting(folder, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()
            ended = await there.stroke("closed")
            assert ended.how == "finished", ended

    with tempfile.TemporaryDirectory() as folder:
        run_virtual(main(Path(folder)))
        return (Path(folder) / "XV-1101.job").read_bytes()


def finished_job(folder: Path) -> Path:
    """A copy of the job: commands proved, one closing stroke, closed and at rest."""
    path = folder / "XV-1101.job"
    path.write_bytes(_finished())
    return path


def altered_text(path: Path, n: int, old: str, new: str) -> None:
    """One event's text changed in place, as by somebody who does not know of the chain."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        (text,) = connection.execute("SELECT text FROM events WHERE n = ?", (n,)).fetchone()
        assert old in text, text
        connection.execute("UPDATE events SET text = ? WHERE n = ?", (text.replace(old, new, 1), n))


def rewritten(path: Path, kind: str, change: Callable[[dict[str, Any]], None]) -> None:
    """Every body of one kind changed and the whole chain built anew, as by somebody who can run this program."""
    head = GENESIS
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for n, text in connection.execute("SELECT n, text FROM events ORDER BY n").fetchall():
            event = event_from_text(text)
            if event.kind == kind:
                body = msgspec.json.decode(msgspec.json.encode(event.body))
                change(body)
                event = msgspec.structs.replace(event, body=body)
            head = link_digest(head, event.text())
            connection.execute("UPDATE events SET text = ?, digest = ? WHERE n = ?", (event.text(), head, n))


def kinds_by_number(path: Path) -> dict[int, str]:
    """Kind of each event."""
    with closing(sqlite3.connect(path)) as connection:
        return {n: event_from_text(text).kind for n, text in connection.execute("SELECT n, text FROM events")}

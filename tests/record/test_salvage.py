"""What is intact of a damaged record is saved, and the rest is named."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from commission.record.chain import Flaw, check_chain
from commission.record.errors import RecordDamaged, RecordMissing, RecordNotWritten
from commission.record.event import Event
from commission.record.reader import Reader, unknown_needs
from commission.record.salvage import Salvaged, salvage
from tests.record.small_job import Write

PAGE = 4096


def _events(path: Path) -> list[Event]:
    with Reader(path) as reader:
        return list(reader.events())


def _texts(path: Path) -> dict[int, str]:
    with Reader(path) as reader:
        return dict(reader.texts())


def _without_pages(path: Path, *pages: int) -> None:
    data = bytearray(path.read_bytes())
    for page in pages:
        data[(page - 1) * PAGE : page * PAGE] = bytes(PAGE)
    path.write_bytes(bytes(data))


def test_an_intact_record_is_saved_whole(job: Path, tmp_path: Path) -> None:
    """Every event to the letter, every chunk, and a last event that says so."""
    out = tmp_path / "saved.job"
    saved = salvage(job, out)
    assert saved == Salvaged(intact_to=20, after_damage=(), unproven=(), lost=(), chunks=4, lost_chunks=())
    *events, last = _events(out)
    assert events == _events(job)
    assert (last.kind, last.n, last.by, last.need) == ("record_salvaged", 21, "program", True)
    assert last.body["source_sha256"] == hashlib.sha256(job.read_bytes()).hexdigest()
    assert check_chain(out).intact


def test_an_altered_event_is_left_out_and_those_after_it_are_marked(job: Path, tmp_path: Path) -> None:
    """The chain of the new file still proves what was saved, and shows the hole."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        connection.execute("UPDATE events SET text = replace(text, 'reading', 'heading') WHERE n = 7")
    before = job.read_bytes()
    out = tmp_path / "saved.job"
    saved = salvage(job, out)
    assert (saved.intact_to, saved.lost, saved.after_damage) == (6, (7,), tuple(range(8, 21)))
    assert saved.unproven == ()
    assert _events(out)[-1].body["after_damage"] == list(range(8, 21))
    report = check_chain(out)
    assert [(finding.flaw, finding.n) for finding in report.findings] == [(Flaw.MISSING, 7)]
    assert job.read_bytes() == before


def test_a_job_with_holes_is_read_only(job: Path, tmp_path: Path) -> None:
    """A program that folds jobs does not know `record_salvaged`, and must not go on with such a job."""
    salvage(job, tmp_path / "saved.job")
    assert [event.kind for event in unknown_needs(_events(tmp_path / "saved.job"), {"remark_made"})] == [
        "record_salvaged"
    ]


def test_behind_a_hole_the_first_event_is_said_to_be_unproved(job: Path, tmp_path: Path) -> None:
    """It was saved, and nothing proves that it follows."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        connection.execute("DELETE FROM events WHERE n BETWEEN 7 AND 9")
    saved = salvage(job, tmp_path / "saved.job")
    assert (saved.intact_to, saved.lost, saved.unproven) == (6, (7, 8, 9), (10,))


def test_a_lost_chunk_is_named(job: Path, tmp_path: Path) -> None:
    """An altered chunk is not saved; the event that names it is, and says which is lost."""
    with closing(sqlite3.connect(job, isolation_level=None)) as connection:
        (digest,) = connection.execute("SELECT digest FROM chunks LIMIT 1").fetchone()
        connection.execute("UPDATE chunks SET data = zeroblob(9) WHERE digest = ?", (digest,))
    saved = salvage(job, tmp_path / "saved.job")
    assert (saved.chunks, saved.lost_chunks) == (3, (digest.hex(),))


@pytest.mark.parametrize("page", [1, 2, 3], ids=["header and schema", "root of events", "root of chunks"])
def test_a_page_that_sqlite_cannot_do_without(write: Write, tmp_path: Path, page: int) -> None:
    """With the header or a root gone, all events come from the leaves."""
    path = write(count=300)
    expected = _texts(path)
    _without_pages(path, page)
    saved = salvage(path, tmp_path / "saved.job")
    assert saved.intact_to == 300
    assert {n: text for n, text in _texts(tmp_path / "saved.job").items() if n <= 300} == expected


def test_unreadable_leaves_cost_only_what_lay_in_them(write: Write, tmp_path: Path) -> None:
    """From a file with seeded holes every event outside them is saved to the letter, and the numbers add up."""
    path = write(count=400)
    expected, pages = _texts(path), path.stat().st_size // PAGE
    for seed in range(10):
        hurt = path.with_name(f"hurt-{seed}.job")
        hurt.write_bytes(path.read_bytes())
        _without_pages(hurt, *Random(seed).sample(range(1, pages + 1), 3))
        out = tmp_path / f"saved-{seed}.job"
        saved = salvage(hurt, out)
        texts = _texts(out)
        last = max(texts)
        assert {n: text for n, text in texts.items() if n != last} == {n: expected[n] for n in texts if n != last}
        assert saved.intact_to + len(saved.after_damage) == len(texts) - 1
        assert set(saved.lost) == set(range(1, last)) - texts.keys()
        assert len(texts) > 200


def test_an_end_cut_off(write: Write, tmp_path: Path) -> None:
    """From a file that was copied only in part, what is there is saved."""
    path = write(count=300)
    expected = _texts(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2 + 100])
    saved = salvage(path, tmp_path / "saved.job")
    assert saved.intact_to > 50
    assert _texts(tmp_path / "saved.job")[saved.intact_to] == expected[saved.intact_to]


def test_what_cannot_be_saved_is_said(job: Path, tmp_path: Path) -> None:
    """No such file, nothing in it, or something in the way: a sentence, and nothing is written."""
    with pytest.raises(RecordMissing):
        salvage(tmp_path / "gone.job", tmp_path / "out.job")
    (tmp_path / "empty.job").write_bytes(bytes(20_000))
    with pytest.raises(RecordDamaged, match="no event in it is intact"):
        salvage(tmp_path / "empty.job", tmp_path / "out.job")
    assert not (tmp_path / "out.job").exists()
    with pytest.raises(RecordNotWritten, match="never written over"):
        salvage(job, job)

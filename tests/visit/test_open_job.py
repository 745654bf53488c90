"""The open job: a real file, what is refused changes nothing, and it comes back as it was left."""

from pathlib import Path

import pytest

from commission.content import ContentError, Text
from commission.energy import EnergyError, EnergyState
from commission.job import bodies
from commission.job.state import JobError, fold
from commission.record.errors import RecordError, RecordHeld
from commission.record.reader import Reader
from commission.record.writer import Recorder
from commission.sheet import parse_sheet
from commission.visit import Visit, VisitError
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody, begun, kinds, texts


def test_begun_job_is_unknown_and_readable_by_others(tmp_path: Path) -> None:
    """The file holds the texts it is done by; closed, it is whole in itself, and closing twice is harmless."""

    async def main() -> None:
        path = tmp_path / "a.job"
        visit = await begun(path)
        assert (visit.path, visit.job.tag) == (path, "XV-1101")
        assert visit.job.energy_log.now.state is EnergyState.UNKNOWN
        assert (visit.link, visit.supervisor, visit.in_motion) == (None, None, False)
        await visit.close("left")
        await visit.close("left again")
        assert kinds(path) == ["job_opened", "session_started", "session_ended"]
        visit.was_away(99)

    run_virtual(main())
    assert [found.name for found in tmp_path.iterdir() if found.suffix == ".job-wal"] == []


def test_job_that_cannot_be_used_leaves_no_file(tmp_path: Path) -> None:
    """A sheet or checklist that does not hold is refused before there is a file."""

    async def main() -> None:
        sheet, _ = texts()
        broken = (Text("broken.toml", "format = 1\nname = 3"),)
        with pytest.raises(ContentError):
            Visit.begin(tmp_path / "a.job", sheet, broken, virtual_clock(), Nobody(), TESS)

    run_virtual(main())
    assert list(tmp_path.iterdir()) == []


def test_illegal_event_changes_nothing(tmp_path: Path) -> None:
    """Neither the file nor the job, nor does anybody hear of it."""

    async def main() -> None:
        visit = await begun(tmp_path / "a.job")
        heard: list[int] = []
        visit.on_event(lambda event: heard.append(event.n))
        before = visit.job
        with pytest.raises(EnergyError):
            visit.record(bodies.EnergyEntered(state="live"), TESS)
        with pytest.raises(ValueError, match="not open"):
            visit.record_all([bodies.StepConcluded(step="K1-open", verdict="pass")], TESS)
        assert (visit.job, heard) == (before, [])
        visit.record_all([bodies.StepBegun(step="K1-open"), bodies.StepConcluded(step="K1-open", verdict="pass")], TESS)
        assert heard == [3, 4]
        await visit.close("left")
        with Reader(tmp_path / "a.job") as reader:
            assert fold(reader.events()).steps == visit.job.steps

    run_virtual(main())


def test_resumed_job_stands_where_it_stood_and_its_energy_is_unknown(tmp_path: Path) -> None:
    """Everything is as before but the energy state; a second writer meanwhile is refused with a sentence."""

    async def main() -> None:
        path = tmp_path / "a.job"
        visit = await begun(path)
        visit.record(bodies.StepBegun(step="K1-open"), TESS)
        with pytest.raises(RecordHeld):
            Visit.resume(path, virtual_clock(), Nobody())
        await visit.close("left")
        again = Visit.resume(path, virtual_clock(), Nobody())
        assert again.job.steps == visit.job.steps
        assert again.job.energy_log.now.state is EnergyState.UNKNOWN
        await again.close("left")

    run_virtual(main())


@pytest.mark.parametrize(
    ("kind", "facts", "need", "error", "words"),
    [
        ("valve_replaced", {}, True, VisitError, "can only be read: it holds 'valve_replaced'"),
        ("energy_entered", {"state": "live"}, True, JobError, "holds what cannot have happened"),
        ("step_begun", {"step": 3}, False, JobError, "holds what cannot have happened"),
    ],
)
def test_job_that_may_not_be_written_is_let_go_again(
    tmp_path: Path, kind: str, facts: dict[str, object], *, need: bool, error: type[Exception], words: str
) -> None:
    """A kind that must be known, or an impossible event: a sentence, nothing added, and the file is free."""

    async def main() -> None:
        path = tmp_path / "a.job"
        await (await begun(path)).close("left")
        with Recorder(path, session="s2", clock=virtual_clock()) as recorder:
            recorder.append(kind, facts, by=TESS, need=need)
        before = kinds(path)
        with pytest.raises(error, match=words):
            Visit.resume(path, virtual_clock(), Nobody())
        assert kinds(path) == before
        Recorder(path, session="s3", clock=virtual_clock()).close()

    run_virtual(main())


def test_missing_job_is_a_sentence(tmp_path: Path) -> None:
    """No such file: said so, and none is made."""

    async def main() -> None:
        with pytest.raises(RecordError):
            Visit.resume(tmp_path / "none.job", virtual_clock(), Nobody())
        assert not (tmp_path / "none.job").exists()

    run_virtual(main())


def test_sheet_in_the_file_is_the_one_it_is_done_by(tmp_path: Path) -> None:
    """The job's sheet is read from its own file, not from the folder it once came from."""

    async def main() -> None:
        visit = await begun(tmp_path / "a.job")
        await visit.close("left")
        again = Visit.resume(tmp_path / "a.job", virtual_clock(), Nobody())
        assert again.job.sheet == parse_sheet(texts()[0])
        await again.close("left")

    run_virtual(main())

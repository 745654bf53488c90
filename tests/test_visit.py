"""A visit: record, job, walk, link and supervisor together, on a real file and against a real practice unit."""

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

from commission.checklist import ProcedureUse
from commission.content import ContentError, Text
from commission.energy import EnergyError, EnergyState
from commission.job import bodies
from commission.job.state import JobError, fold
from commission.link.faults import LinkError
from commission.procedures.catalogue import CATALOGUE
from commission.record.errors import RecordError, RecordHeld
from commission.record.reader import Reader
from commission.record.writer import Recorder
from commission.sheet import parse_sheet
from commission.supervise.order import Ended, MotionRefused
from commission.supervise.safe_end import SafeEndSeen
from commission.visit import Visit, VisitError
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody, There, texts, visiting


def kinds(path: Path) -> list[str]:
    """Every kind of event in a file."""
    with Reader(path) as reader:
        return [event.kind for event in reader.events()]


async def begun(path: Path) -> Visit:
    """A visit without a line."""
    sheet, checklist = texts()
    return Visit.begin(path, sheet, checklist, virtual_clock(), Nobody(), TESS)


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


def test_visit_from_isolation_to_a_verdict(tmp_path: Path) -> None:
    """Commands proved in control, then a stroke live: figures, verdict and the end of leave are in the file."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()
            ended = await there.stroke("closed")
            assert (ended.how, ended.safe_end.seen) == ("finished", SafeEndSeen.NOT_NEEDED)
            run = there.visit.job.runs["K1-close-closed-1"]
            response = run.figure("response_time")
            assert response is not None
            assert 7.0 < float(response.value) < 9.0
            assert [result.verdict for result in run.results] == ["pass"]
            assert there.visit.job.contact.leave is None
            assert there.visit.job.practice
            assert kinds_of(there.visit)[-2:] == ["result_decided", "step_concluded"]

    run_virtual(main())


def test_r08_unproved_command_is_refused_and_nothing_is_sent(tmp_path: Path) -> None:
    """Live, confirmed, and the commands never pulsed: refused in words, no write at the unit."""

    async def main() -> None:
        async with visiting(tmp_path, start="open", speed=20) as there:
            there.arrive()
            there.cross("in operation", "locked", "control", "live")
            with pytest.raises(MotionRefused, match="was not pulsed in control"):
                await there.run("K1-close")
            assert not any(frame.is_write for frame in there.unit.server.frames)
            assert not there.visit.in_motion

    run_virtual(main())


async def closing(there: There) -> "asyncio.Task[Ended[Any]]":
    """A closing stroke in mid-travel."""
    await there.go_live()
    there.opened_at_the_panel()
    running = asyncio.get_running_loop().create_task(there.stroke("closed"))
    await there.until_travel(below_pct=60)
    return running


def test_killed_visit_says_what_may_have_been_sent(tmp_path: Path) -> None:
    """A copy of the file as it was in mid-stroke, resumed: the run is interrupted, its command may have been sent."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            running = await closing(there)
            killed = tmp_path / "killed.job"
            there.visit._recorder.copy_to(killed).result(timeout=5)
            assert "motion_ended" not in kinds(killed)[-3:]
            await running
        again = Visit.resume(killed, virtual_clock(), Nobody())
        run = again.job.runs["K1-close-closed-1"]
        assert run.ended is not None
        assert run.ended.how == "interrupted"
        assert "these may have been sent: command_close" in run.ended.reason
        assert again.job.energy_log.now.state is EnergyState.UNKNOWN
        assert again.job.contact.leave is None
        await again.close("left")

    run_virtual(main())


@pytest.mark.parametrize("what", ["gas alarm", "was away", "stop", "close"])
def test_everything_that_ends_a_visit_or_a_state_stops_the_valve(tmp_path: Path, what: str) -> None:
    """Gas alarm, closed lid, stop key, leaving: each is a stop that is found at the unit and in the record."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            running = await closing(there)
            visit = there.visit
            assert visit.in_motion
            acts: dict[str, Callable[[], object]] = {
                "gas alarm": lambda: visit.gas_alarm(TESS),
                "was away": lambda: visit.was_away(40),
                "stop": lambda: visit.stop(TESS, "stop key"),
                "close": lambda: None,
            }
            acts[what]()
            if what == "close":
                await visit.close("the terminal was closed")
            ended = await running
            assert ended.how == "stopped"
            assert there.unit.desk.read("truth")["wanted"] == "stopped"
            run = visit.job.runs["K1-close-closed-1"]
            assert run.ended is not None
            assert run.ended.safe_end == "confirmed"
            assert [result.verdict for result in run.results] == ["stopped"]
            unknown = visit.job.energy_log.now.state is EnergyState.UNKNOWN
            assert unknown == (what in ("gas alarm", "was away"))

    run_virtual(main())


def test_nothing_else_goes_on_during_a_motion(tmp_path: Path) -> None:
    """A second test, another line, leaving the line and an energy event are refused; the stroke goes on."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            running = await closing(there)
            visit = there.visit
            with pytest.raises(MotionRefused, match="one at a time"):
                await visit.perform(visit.job.checklist.step("K1-open"), _use(visit), TESS)
            with pytest.raises(VisitError, match="in motion"):
                await there.connect()
            with pytest.raises(VisitError, match="in motion"):
                await visit.disconnect(TESS)
            with pytest.raises(EnergyError, match="is open"):
                visit.record(bodies.EnergyBegun(target="in operation"), TESS)
            ended = await running
            assert ended.how == "finished"

    run_virtual(main())


def _use(visit: Visit) -> ProcedureUse:
    return visit.job.checklist.step("K1-open").procedures[0]


def test_face_that_dies_leaves_the_motion_to_its_end(tmp_path: Path) -> None:
    """The task that asked for the stroke is cancelled; the stroke is finished and judged all the same."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            running = await closing(there)
            running.cancel()
            await asyncio.wait({running})
            assert there.visit.supervisor is not None
            await there.visit.supervisor.idle()
            await asyncio.sleep(0.1)
            assert [result.verdict for result in there.visit.job.runs["K1-close-closed-1"].results] == ["pass"]

    run_virtual(main())


def test_contact_lost_and_back_is_recorded_once_each(tmp_path: Path) -> None:
    """A unit that does not answer, then does; what cannot be polled at all is no loss of contact."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit = there.visit
            assert (await visit.read(["travel"])).value("travel") is not None
            with pytest.raises(VisitError):
                await visit.read(["no_such_point"])
            assert visit.job.contact.up
            there.unit.server.deaf = True
            for _ in range(2):
                with pytest.raises(VisitError, match="does not answer"):
                    await visit.read(["travel"])
            assert not await visit.answers_again()
            assert (visit.job.contact.up, visit.job.contact.losses) == (False, 1)
            there.unit.server.deaf = False
            there.unit.hang_up()
            await asyncio.sleep(0.5)
            assert await visit.answers_again()
            assert visit.job.contact.up
            assert [kind for kind in kinds_of(visit) if kind.startswith("contact")] == [
                "contact_lost",
                "contact_back",
            ]

    run_virtual(main())


def test_silent_end_of_a_motion_is_a_loss_of_contact(tmp_path: Path) -> None:
    """Safe end unconfirmed: the visit says at once that the unit does not answer."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            running = await closing(there)
            there.unit.server.deaf = True
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
            assert not there.visit.job.contact.up
            there.unit.server.deaf = False

    run_virtual(main())


def test_disconnect_says_what_the_unit_will_do(tmp_path: Path) -> None:
    """The sheet's words are in the record (R16); afterwards there is no line to read, stop or run anything on."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit = there.visit
            await visit.disconnect(TESS)
            assert visit.job.contact.reason == "disconnected"
            with pytest.raises(VisitError, match="no line"):
                await visit.read(["travel"])
            with pytest.raises(VisitError, match="no line"):
                await visit.perform(visit.job.checklist.step("K1-open"), _use(visit), TESS)
            assert not visit.stop(TESS, "stop key")
            await there.connect()
            assert visit.job.contact.up

    run_virtual(main())


def test_line_that_cannot_be_opened_leaves_none(tmp_path: Path) -> None:
    """After a failed connect there is no half-open line to run a motion on."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            with pytest.raises(LinkError):
                await there.visit.connect("tcp://127.0.0.1:1", other_master="none", agreed_by="M", by=TESS)
            assert (there.visit.link, there.visit.supervisor) == (None, None)

    run_virtual(main())


def test_leave_goes_with_the_energy_state(tmp_path: Path) -> None:
    """An energy event withdraws leave that is in force, in the slot and in the record (R9)."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            running = await closing(there)
            there.visit.gas_alarm(TESS)
            assert there.visit._slot.current is None
            assert "leave_withdrawn" in kinds_of(there.visit)
            await running

    run_virtual(main())


def kinds_of(visit: Visit) -> list[str]:
    """Every kind so far, read after what was appended is on the disk."""
    visit._recorder.checkpoint().result(timeout=5)
    return kinds(visit.path)


def test_figures_that_cannot_be_computed_do_not_lose_the_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault in the analysis: the run and its samples are kept, the verdict says why there is none."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            await there.go_live()
            there.opened_at_the_panel()

            def broken(_observed: object, _sheet: object) -> tuple[()]:
                raise ZeroDivisionError("a fault of the analysis")

            monkeypatch.setitem(CATALOGUE, "full_stroke", _with(figures=broken))
            assert (await there.stroke("closed")).how == "finished"
            run = there.visit.job.runs["K1-close-closed-1"]
            assert [(result.verdict, result.rule) for result in run.results] == [
                ("void, repeat", "its figures could not be computed: a fault of the analysis")
            ]
            assert run.chunks

    run_virtual(main())


def _with(**changes: object) -> object:
    return msgspec.structs.replace(CATALOGUE["full_stroke"], **changes)


def test_sheet_in_the_file_is_the_one_it_is_done_by(tmp_path: Path) -> None:
    """The job's sheet is read from its own file, not from the folder it once came from."""

    async def main() -> None:
        visit = await begun(tmp_path / "a.job")
        await visit.close("left")
        again = Visit.resume(tmp_path / "a.job", virtual_clock(), Nobody())
        assert again.job.sheet == parse_sheet(texts()[0])
        await again.close("left")

    run_virtual(main())

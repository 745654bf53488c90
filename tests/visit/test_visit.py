"""A visit: record, job, walk, link and supervisor together, on a real file and against a real practice unit."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from commission import quantity
from commission.energy import EnergyError, EnergyState
from commission.job import bodies
from commission.procedures.catalogue import CATALOGUE
from commission.supervise.order import MotionRefused
from commission.supervise.safe_end import SafeEndSeen
from commission.visit import Visit, VisitError
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody, closing, first_use, kinds, kinds_of, visiting


def _with(**changes: object) -> object:
    return msgspec.structs.replace(CATALOGUE["full_stroke"], **changes)


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


def test_the_unit_library_is_loaded_with_the_line_and_never_in_a_motion(tmp_path: Path) -> None:
    """It takes half a second, on a busy laptop two: guards that wait for it would be blind so long."""

    async def main() -> None:
        quantity._registry.cache_clear()
        async with visiting(tmp_path):
            assert quantity._registry.cache_info().currsize == 1

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


def test_killed_visit_says_what_may_have_been_sent(tmp_path: Path) -> None:
    """A copy of the file as it was in mid-stroke, resumed: the run is interrupted, its command may have been sent."""

    async def main() -> None:
        async with visiting(tmp_path, speed=20) as there:
            running = await closing(there)
            killed = tmp_path / "killed.job"
            there.visit._book.recorder.copy_to(killed).result(timeout=5)
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
                await visit.perform(visit.job.checklist.step("K1-open"), first_use(visit), TESS)
            with pytest.raises(VisitError, match="in motion"):
                await there.connect()
            with pytest.raises(VisitError, match="in motion"):
                await visit.disconnect(TESS)
            with pytest.raises(EnergyError, match="is open"):
                visit.record(bodies.EnergyBegun(target="in operation"), TESS)
            ended = await running
            assert ended.how == "finished"

    run_virtual(main())


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

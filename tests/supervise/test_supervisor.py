"""The loop that performs a procedure, against a real practice unit in virtual time."""

import asyncio
import gc
from pathlib import Path

import pytest

from commission.job.bodies import CommandSent, LeaveGiven, LeaveWithdrawn, MotionBegun, MotionEnded
from commission.leave import Leave
from commission.link.write_guard import EnergyView
from commission.procedures.full_stroke import full_stroke
from commission.procedures.requests import Begin, Command, Procedure, Watch
from commission.record.errors import RecordNotWritten
from commission.record.reader import Reader
from commission.sample import Outcome
from commission.sheet import End
from commission.supervise.order import MotionOrder, MotionRefused
from commission.supervise.safe_end import SafeEndSeen
from tests.supervise.rig import TESS, Frame, Site, rig
from tests.supervise.small import begin, closes, fails, looks, stubborn, watches_for_ever
from tests.virtual_time import run_virtual

both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])


def closing(site: Site) -> Procedure[object]:
    """A closing stroke."""
    return full_stroke(site.sheet, End.CLOSED, "K1 closed 1")


@pytest.mark.parametrize(
    ("start", "to", "speed"), [("open", "closed", 1.0), pytest.param("closed", "open", 20.0, marks=pytest.mark.long)]
)
def test_stroke_runs_to_its_end(tmp_path: Path, start: str, to: str, speed: float) -> None:
    """Each way: finished, the valve truly there, one command on the wire, no safe end needed, leave given and gone."""

    async def main() -> None:
        async with rig(tmp_path, start=start, speed=speed) as site:
            ended = await site.run(full_stroke(site.sheet, End(to), f"K1 {to} 1"))
            assert (ended.how, ended.safe_end.seen) == ("finished", SafeEndSeen.NOT_NEEDED)
            assert ended.observed is not None
            assert site.truth().travel_pct == pytest.approx(100.0 if to == "open" else 0.0, abs=0.5)
            assert len(site.writes()) == 1
            assert site.supervisor.view is None
            assert site.slot.current is None
            kinds = [type(body) for body in site.bodies()]
            assert kinds[:2] == [LeaveGiven, MotionBegun]
            assert kinds[-2:] == [MotionEnded, LeaveWithdrawn]

    run_virtual(main())


@both
def test_stop_in_mid_stroke_is_found_at_the_unit(tmp_path: Path, *, rtu: bool) -> None:
    """The stop reaches the unit within the time promised at connect; the valve stands in mid-travel and is seen so."""

    async def main() -> None:
        async with rig(tmp_path, start="open", rtu=rtu) as site:
            running = asyncio.ensure_future(site.run(closing(site)))
            await site.until(lambda truth: truth.travel_pct < 60)
            at_s = asyncio.get_running_loop().time()
            assert site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED), ended
            assert "stop key, by T. Placeholder" in ended.reason
            first = site.writes("command_stop")[0]
            assert first.at_s - at_s <= site.link.facts.make_safe_s
            stopped_pct = site.truth().travel_pct
            assert 30 < stopped_pct < 60
            await asyncio.sleep(5)
            assert site.truth().travel_pct == pytest.approx(stopped_pct, abs=0.1)
            assert site.truth().wanted == "stopped"

    run_virtual(main())


def test_motion_begun_is_durable_before_the_first_command(tmp_path: Path) -> None:
    """When the command frame reaches the unit, another reader finds MotionBegun in the file already."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            found: list[list[str]] = []

            def look(frame: Frame) -> None:
                if frame.is_write:
                    with Reader(site.recorder.path) as reader:
                        found.append([event.kind for event in reader.events()])

            site.server.on_frame = look
            await site.run(closes(watches_for_a_while()))
            assert found[0][:2] == ["leave_given", "motion_begun"]

    run_virtual(main())


def watches_for_a_while() -> Procedure[None]:
    """Twenty samples."""
    for _ in range(20):
        yield Watch()


def test_fault_of_the_procedure_ends_in_the_safe_end(tmp_path: Path) -> None:
    """An exception in it, or one that will not even be closed, stops the valve all the same."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            ended = await site.run(closes(fails(after=100)))
            assert (ended.how, ended.safe_end.seen) == ("aborted", SafeEndSeen.CONFIRMED)
            assert ended.reason == "the program failed: a fault of the procedure"
            assert site.truth().wanted == "stopped"

    run_virtual(main())


def test_procedure_that_will_not_be_closed_cannot_keep_the_safe_end_away(tmp_path: Path) -> None:
    """A generator that yields while it is being closed is left; the stop goes out."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(stubborn())))
            await site.until(lambda truth: truth.travel_pct < 80)
            site.supervisor.stop(TESS, "stop key")
            assert (await running).safe_end.seen is SafeEndSeen.CONFIRMED
            assert site.truth().wanted == "stopped"

    run_virtual(main())


@pytest.mark.parametrize("times", [1, 3])
def test_cancelled_task_is_a_stop(tmp_path: Path, times: int) -> None:
    """Cancelling, once or again and again during the safe end, does not keep it from the valve or out of the record."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closing(site)))
            await site.until(lambda truth: truth.travel_pct < 60)
            for _ in range(times):
                running.cancel()
                await asyncio.sleep(0.05)
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)
            assert site.truth().wanted == "stopped"
            assert site.bodies(MotionEnded)[0].how == "stopped"

    run_virtual(main())


def test_second_motion_is_refused(tmp_path: Path) -> None:
    """While one is open, or about to be, another is refused; its leave is not touched and the first goes on."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closing(site)))
            await asyncio.sleep(0)
            assert site.supervisor.busy
            with pytest.raises(MotionRefused, match="one at a time"):
                await site.run(looks(), "r2")
            await asyncio.sleep(2)
            with pytest.raises(MotionRefused, match="K1 closed 1 is still in motion"):
                await site.run(looks(), "r2")
            assert site.slot.current is not None
            assert (await running).how == "finished"
            assert (await site.run(looks(), "r3")).observed == [1, 2, 3]

    run_virtual(main())


def test_stop_before_the_beginning_is_taken(tmp_path: Path) -> None:
    """A stop that comes while the read plan is being tried: nothing begins and nothing is sent."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closing(site)))
            await asyncio.sleep(0.005)
            assert site.supervisor.view is None
            assert site.supervisor.stop(TESS, "stop key")
            with pytest.raises(MotionRefused, match="stopped before it began: stop key"):
                await running
            assert not site.writes()
            assert not site.bodies()
            assert not site.supervisor.busy
            assert not site.supervisor.stop(TESS, "again")

    run_virtual(main())


def test_no_leave_no_motion(tmp_path: Path) -> None:
    """Whoever gives leave refuses: nothing is read, recorded or sent, and the next may run."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            frames = len(site.server.frames)

            def refuse(_begin: Begin, _order: MotionOrder) -> Leave:
                raise MotionRefused("not confirmed")

            site.supervisor._leave_for = refuse
            with pytest.raises(MotionRefused, match="not confirmed"):
                await site.run(closing(site))
            assert len(site.server.frames) == frames
            assert not site.bodies()
            site.supervisor._leave_for = site.leave_for
            site.slot.grant(Leave("another", {}, 10**18, 1, TESS))
            with pytest.raises(MotionRefused, match="another still holds leave"):
                await site.run(closing(site))
            assert site.slot.current is not None, "the leave of another is not taken away"

    run_virtual(main())


def test_unit_that_cannot_be_run_is_a_sentence(tmp_path: Path) -> None:
    """A procedure that this sheet has no points for is refused in words."""

    async def main() -> None:
        async with rig(tmp_path) as site:

            def needs_more() -> Procedure[None]:
                raise ValueError("the sheet has no point for command_partial_stroke")
                yield begin()  # type: ignore[unreachable]  # makes it a generator

            with pytest.raises(MotionRefused, match="cannot be run on this unit: the sheet has no point"):
                await site.run(needs_more())
            site.server.deaf = True
            with pytest.raises(MotionRefused, match="cannot be read: no answer"):
                await site.run(looks())

    run_virtual(main())


def test_command_without_leave_never_leaves(tmp_path: Path) -> None:
    """Leave gone stale between go and command: refused before the wire, said so, and no safe end is needed."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:

            def stale() -> Procedure[Outcome]:
                yield begin("command_close")
                site.view = EnergyView("live", 2, site.view.proved)
                sent = yield Command("command_close")
                return sent.outcome  # type: ignore[union-attr]  # the reply to a command

            ended = await site.run(stale())
            assert ended.observed is Outcome.REFUSED
            assert ended.safe_end.seen is SafeEndSeen.NOT_NEEDED
            assert not site.writes()
            assert "the energy state has changed" in site.bodies(CommandSent)[0].reason

    run_virtual(main())


def test_unnamed_command_is_never_sent(tmp_path: Path) -> None:
    """A procedure that asks for a command it did not name is ended; nothing was commanded, so it is no test."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:

            def sly() -> Procedure[None]:
                yield begin()
                yield Command("command_close")

            ended = await site.run(sly())
            assert (ended.how, ended.safe_end.seen) == ("no test", SafeEndSeen.NOT_NEEDED)
            assert not site.writes()

    run_virtual(main())


def test_beginning_that_cannot_be_recorded_sends_nothing(tmp_path: Path) -> None:
    """With the record closed no motion begins."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            site.recorder.close()
            with pytest.raises(RecordNotWritten):
                await site.run(closing(site))
            assert not site.writes()
            assert site.slot.current is None
            assert not site.supervisor.busy

    run_virtual(main())


def test_idle_waits_for_the_open_motion(tmp_path: Path) -> None:
    """Whoever waits for quiet is told after the last word of the record."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            await site.supervisor.idle()
            await site.supervisor.sampled()
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await asyncio.sleep(1.005)  # between two samples
            before_s = asyncio.get_running_loop().time()
            await site.supervisor.sampled()
            assert asyncio.get_running_loop().time() > before_s
            assert gc.get_freeze_count() > 0  # no long round of the collector while the valve moves
            begun = site.supervisor.begun
            assert begun is not None
            assert begun.test == "a small test"
            site.supervisor.stop(TESS, "stop key")
            await site.supervisor.idle()
            assert not site.supervisor.busy
            assert gc.get_freeze_count() == 0
            await running

    run_virtual(main())

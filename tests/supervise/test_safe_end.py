"""The safe end, against a real practice unit in virtual time: sent, sent again, believed only when seen."""

import asyncio
import itertools
from pathlib import Path

import pytest

from commission.job.bodies import Body, CommandSent, SamplesStored
from commission.procedures.full_stroke import full_stroke
from commission.procedures.requests import Begin, Command, CommandValue, Procedure, SafeEnd, Tripped
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.supervise.safe_end import AGAIN_S, LIFE_S, SafeEndSeen, life_s, taken_over_by
from tests.supervise.rig import TESS, rig
from tests.supervise.small import begin, closes, watches_for_ever
from tests.virtual_time import run_virtual

both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])


@both
def test_r10_silent_unit_gets_the_stop_again_and_again_and_then_nothing(tmp_path: Path, *, rtu: bool) -> None:
    """Every 0.3 s for 3 s at most, then unconfirmed; nothing is sent afterwards, not even when the unit is back."""

    async def main() -> None:
        async with rig(tmp_path, start="open", rtu=rtu) as site:
            running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1")))
            await site.until(lambda truth: truth.travel_pct < 70)
            site.server.deaf = True
            at_s = asyncio.get_running_loop().time()
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
            assert "not seen received within 3 s" in ended.safe_end.reason
            assert "Stay clear" in ended.safe_end.reason
            sent = [frame.at_s for frame in site.writes("command_stop")]
            assert 8 <= len(sent) <= 11
            assert all(later - sooner <= AGAIN_S + 0.05 for sooner, later in itertools.pairwise(sent))
            assert sent[-1] - at_s <= LIFE_S + 0.01
            assert asyncio.get_running_loop().time() - at_s <= LIFE_S + 0.5
            site.server.deaf = False
            await asyncio.sleep(5)
            assert len(site.writes("command_stop")) == len(sent)
            assert len(site.bodies(CommandSent)) == len(sent) + 1

    run_virtual(main())


def test_unit_that_is_back_within_the_life_is_stopped(tmp_path: Path) -> None:
    """Deaf for a second, then heard again: the stop that is sent again reaches it and is seen."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 95)
            site.server.deaf = True
            site.supervisor.stop(TESS, "stop key")
            await asyncio.sleep(1.0)
            assert site.truth().wanted == "closed"
            site.server.deaf = False
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
            assert site.truth().wanted == "stopped"

    run_virtual(main())


def test_line_that_was_cut_is_opened_again_for_the_stop(tmp_path: Path) -> None:
    """The connection is lost just before the stop: it is made again, the unit proved, and the stop sent."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 95)
            site.drop_line()
            site.supervisor.stop(TESS, "stop key")
            assert (await running).safe_end.seen is SafeEndSeen.CONFIRMED
            assert site.truth().wanted == "stopped"

    run_virtual(main())


def test_stop_in_the_dead_time_is_not_believed_from_a_valve_that_has_not_moved_yet(tmp_path: Path) -> None:
    """A stop that acts unseen: right after the command the valve still stands; rest is believed only after a while."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda _: bool(site.writes()))
            at_s = asyncio.get_running_loop().time()
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
            assert asyncio.get_running_loop().time() - at_s >= 0.95

    run_virtual(main())


def test_taken_over_during_the_safe_end_withholds_the_rest(tmp_path: Path) -> None:
    """ESD after the stop key: no more stops are sent, although the first was not yet seen received."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1")))
            await site.until(lambda truth: truth.travel_pct < 60)
            site.supervisor.stop(TESS, "stop key")
            await asyncio.sleep(0.1)
            site.desk.act("esd_button", True)
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.WITHHELD)
            assert len(site.writes("command_stop")) == 1
            assert site.truth().travel_pct == 0, "kept to its end"

    run_virtual(main())


def test_return_is_believed_only_when_the_valve_goes_back(tmp_path: Path) -> None:
    """A valve that merely stands has not taken a return; one that heads for the other end has."""

    async def main() -> None:
        async with rig(tmp_path, start="closed") as site:
            back = CommandValue("command_close")
            first = begin("command_open", "command_close", safe_end=SafeEnd.RETURN, safe_command=back)
            running = asyncio.ensure_future(site.run(_opens(first)))
            await site.until(lambda truth: truth.travel_pct > 5)
            site.supervisor.stop(TESS, "return key")
            ended = await running
            assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
            assert ended.safe_end.reason == "the valve is seen returning"
            assert site.truth().wanted == "closed"

    run_virtual(main())


def _opens(first: Begin) -> Procedure[None]:
    yield first
    yield Command("command_open")
    yield from watches_for_ever()


@pytest.mark.parametrize("kind", [CommandSent, SamplesStored])
def test_record_that_fails_never_keeps_the_stop_from_the_valve(tmp_path: Path, kind: type[Body]) -> None:
    """Writing about it raises; the stop is sent, sent again until seen, and the valve stands."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 80)

            def refuse(body: Body) -> None:
                if isinstance(body, kind):
                    raise OSError("the disk is full")

            site.ledger.on_record = refuse
            site.supervisor.stop(TESS, "stop key")
            await site.until(lambda truth: truth.wanted == "stopped", limit_s=2)
            await asyncio.sleep(2)
            site.ledger.on_record = lambda _body: None
            await asyncio.wait({running})
            assert not site.supervisor.busy
            assert site.slot.current is None

    run_virtual(main())


def test_life_is_never_longer_than_the_units_own_guard() -> None:
    """Three seconds, or the unit's own guard where that is sooner."""
    assert life_s(None) == LIFE_S
    assert life_s(10.0) == LIFE_S
    assert life_s(2.0) == 2.0


def test_guard_that_fails_has_nothing_to_say_about_a_safe_end() -> None:
    """The next guard is heard; only those that say that somebody else has the valve count."""

    def broken(_readings: Readings) -> Tripped | None:
        raise ZeroDivisionError

    seen = Readings(1, 0, {"travel": Reading(0.5, 0, 1)})
    ours = begin(guards={"broken": broken, "ours": lambda _: Tripped("too high")})
    theirs = begin(guards={"broken": broken, "theirs": lambda _: Tripped("ESD", taken_over=True)})
    assert taken_over_by(ours, seen) == ""
    assert taken_over_by(theirs, seen) == "ESD"

"""Safety rule R12: an answer proves little; only another point that changed says received, only travel says moving."""

import asyncio
from pathlib import Path

from commission.analysis.observed import StrokeEnd
from commission.practice.onboard import Onboard
from commission.procedures.full_stroke import full_stroke
from commission.procedures.requests import Command, Procedure
from commission.sheet import End
from commission.supervise.safe_end import SafeEndSeen
from tests.supervise.rig import TESS, rig
from tests.supervise.small import begin, closes, watches_for_ever
from tests.virtual_time import run_virtual


def test_r12_words_go_from_sent_to_moving_only_by_what_is_seen(tmp_path: Path) -> None:
    """An answered opening of a unit whose motor isolator is off is never called moving."""

    async def main() -> None:
        async with rig(tmp_path, start="closed") as site:
            site.desk.act("motor_isolator", False)

            def opens() -> Procedure[None]:
                yield begin("command_open")
                yield Command("command_open")
                yield from watches_for_ever()

            running = asyncio.ensure_future(site.run(opens()))
            words = []
            for _ in range(60):
                await asyncio.sleep(0.05)
                view = site.supervisor.view
                assert view is not None
                words.append(view.command)
            site.supervisor.stop(TESS, "stop key")
            await running
            assert "moving" not in words
            assert words[-1] in ("answered", "received"), "the contactor may show it; travel does not"

    run_virtual(main())


def test_r12_answered_stop_is_not_a_confirmed_stop(tmp_path: Path) -> None:
    """
    The unit answers every stop and goes on closing, as an echoing adapter would make it look.

    It is only confirmed once the valve is truly at rest.
    """

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 90)
            onboard = site.desk.unit.onboard
            assert isinstance(onboard, Onboard)
            onboard._stop = lambda: None  # type: ignore[method-assign]  # a stop wire that is not connected
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert site.bodies()[-2].how == "stopped"
            assert ended.safe_end.seen is SafeEndSeen.UNCONFIRMED
            assert "Stay clear" in ended.reason or "Stay clear" in ended.safe_end.reason

    run_virtual(main())


def test_r12_unanswered_command_that_moves_the_valve_is_a_stroke(tmp_path: Path) -> None:
    """No answer, and the valve goes: what counts is that it moved."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            site.server.mute_writes = 1
            ended = await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            assert ended.how == "finished"
            assert ended.observed is not None
            assert ended.observed.ended is StrokeEnd.HOME
            assert site.truth().travel_pct == 0

    run_virtual(main())

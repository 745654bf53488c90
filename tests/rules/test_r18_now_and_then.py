"""Safety rule R18: a reading has an age; what is old, or comes from a unit that does not live, is struck out."""

import asyncio
from pathlib import Path

from commission.procedures.full_stroke import full_stroke
from commission.sheet import End
from tests.supervise.rig import TESS, rig
from tests.virtual_time import run_virtual


def test_r18_reading_of_a_motion_is_now_and_its_silence_is_said(tmp_path: Path) -> None:
    """In a stroke the newest reading is younger than a tenth of a second; in a silence the view says so beside it."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1")))
            await site.until(lambda truth: truth.travel_pct < 80)
            view = site.supervisor.view
            assert view is not None
            assert view.latest is not None
            assert site.clock.unit_ns() - view.latest.at_ns < 100_000_000
            assert view.silence is None
            assert site.link.health.struck_out(site.clock.unit_ns()) is None
            site.server.deaf = True
            await asyncio.sleep(1.0)
            view = site.supervisor.view
            assert view is not None
            assert view.silence is not None
            site.server.deaf = False
            site.supervisor.stop(TESS, "stop key")
            await running

    run_virtual(main())


def test_r18_unit_without_power_is_silent_and_everything_is_struck_out(tmp_path: Path) -> None:
    """The practice unit answers nothing with its control supply off (R19): after 5 s no value may be believed."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            sampler = site.link.sampler(await site.link.plan(["travel"]))
            await sampler.next()
            assert site.link.health.struck_out(site.clock.unit_ns()) is None
            site.desk.act("control_supply", False)
            await asyncio.sleep(6)
            await sampler.next()
            words = site.link.health.struck_out(site.clock.unit_ns())
            assert words is not None
            assert "nothing has been read for" in words

    run_virtual(main())

"""Beside the walk all points are read, but never in a motion; contact lost and back are seen; chunks are kept."""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

from commission.job.bodies import SamplesStored
from commission.supervise.background import PERIOD_S, Background
from commission.supervise.bits import BitWatch
from tests.supervise.rig import Site, rig
from tests.virtual_time import run_virtual


class Watched:
    """A background that reads, and what it was told and said."""

    def __init__(self, site: Site) -> None:
        self.moving = False
        self.said: list[str] = []
        bits = BitWatch(site.ledger)
        self.background = Background(site.link, site.ledger, site.clock, lambda: self.moving, self.said.append, bits)


@contextlib.asynccontextmanager
async def reading(site: Site) -> AsyncIterator[Watched]:
    """It reads for the length of a `with` block."""
    watched = Watched(site)
    task = asyncio.ensure_future(watched.background.run())
    try:
        yield watched
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        watched.background.flush()


def test_the_newest_reading_is_there_with_its_raw_words(tmp_path: Path) -> None:
    """All points that may be polled, decoded; a bit is 0 or 1, a register is hex."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site, reading(site) as watched:
            await asyncio.sleep(3)
            latest = watched.background.latest
            assert latest is not None
            assert latest.readings.value("travel") is not None
            travel, limit = site.sheet.point("travel"), site.sheet.point("open_limit")
            assert travel is not None
            assert limit is not None
            assert len(latest.raw(travel).split()) == travel.words
            assert latest.raw(limit) in ("0", "1")
            assert not [point for point in site.sheet.points if point.read_clears and point.role in latest.places]

    run_virtual(main())


def test_nothing_is_read_in_a_motion(tmp_path: Path) -> None:
    """The line is the motion's: not one request of the background while something moves."""

    async def main() -> None:
        async with rig(tmp_path) as site, reading(site) as watched:
            await asyncio.sleep(3)
            watched.moving = True
            await asyncio.sleep(2 * PERIOD_S)
            before = len(site.server.frames)
            await asyncio.sleep(10)
            assert len(site.server.frames) == before
            watched.moving = False
            await asyncio.sleep(2)
            assert len(site.server.frames) > before

    run_virtual(main())


def test_contact_lost_and_back_are_seen(tmp_path: Path) -> None:
    """A silent unit is said with a reason, and said to be back when it answers again."""

    async def main() -> None:
        async with rig(tmp_path) as site, reading(site) as watched:
            await asyncio.sleep(3)
            assert set(watched.said) == {""}
            site.server.deaf = True
            await asyncio.sleep(10)
            assert watched.said[-1]
            site.server.deaf = False
            await asyncio.sleep(10)
            assert watched.said[-1] == ""

    run_virtual(main())


def test_one_chunk_a_minute_is_kept_and_the_rest_at_the_end(tmp_path: Path) -> None:
    """Every reading is in the record, in no run; the chunks say how many they hold."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            async with reading(site):
                await asyncio.sleep(130)
            stored = [body for body in site.bodies(SamplesStored) if not body.run]
            assert len(stored) == 3
            assert all(body.count > 0 for body in stored)
            assert stored[0].count >= 100

    run_virtual(main())

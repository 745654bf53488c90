"""All points read beside the walk, against a real practice unit in virtual time."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from commission.job.bodies import SamplesStored
from commission.record.reader import Reader
from commission.sample import Sample
from commission.supervise.background import Background
from tests.supervise.rig import Site, rig
from tests.virtual_time import run_virtual


class Beside:
    """A background of one site, with what it told."""

    def __init__(self, site: Site) -> None:
        self.moving = False
        self.told: list[str] = []
        self.background = Background(site.link, site.ledger, site.clock, lambda: self.moving, self.told.append)


@contextmanager
def reading(beside: Beside) -> Iterator["asyncio.Task[None]"]:
    """The background at work; whoever leaves awaits its end."""
    task = asyncio.get_running_loop().create_task(beside.background.run())
    try:
        yield task
    finally:
        task.cancel()


def test_every_point_is_now_with_its_raw_words(tmp_path: Path) -> None:
    """Twice a second; the newest of each point, and its registers in hex as they came."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            beside = Beside(site)
            with reading(beside) as task:
                await asyncio.sleep(2.2)
                latest = beside.background.latest
            await asyncio.wait({task})
            assert latest is not None
            assert site.clock.unit_ns() - latest.readings.at_ns < 700_000_000
            assert latest.readings.value("travel") == pytest.approx(1.0, abs=0.01)
            travel, open_limit = site.sheet.point("travel"), site.sheet.point("open_limit")
            assert travel is not None
            assert open_limit is not None
            assert [len(word) for word in latest.raw(travel).split()] == [4] * travel.words
            assert latest.raw(open_limit) in ("0", "1")
            assert set(beside.told) == {""}
            assert not site.writes()

    run_virtual(main())


def test_nothing_is_read_while_a_motion_is_open(tmp_path: Path) -> None:
    """The line is the motion's; afterwards reading goes on."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            beside = Beside(site)
            with reading(beside) as task:
                await asyncio.sleep(1)
                beside.moving = True
                await asyncio.sleep(0.2)
                frames = len(site.server.frames)
                await asyncio.sleep(5)
                assert len(site.server.frames) == frames
                beside.moving = False
                await asyncio.sleep(1)
                assert len(site.server.frames) > frames
            await asyncio.wait({task})

    run_virtual(main())


def test_one_chunk_a_minute_and_the_rest_at_the_end(tmp_path: Path) -> None:
    """Outside any run, each sample once, numbered from 1 in each chunk's plan."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            beside = Beside(site)
            with reading(beside) as task:
                await asyncio.sleep(75)
            await asyncio.wait({task})
            assert len(site.bodies(SamplesStored)) == 1
            beside.background.flush()
            beside.background.flush()
            stored = site.bodies(SamplesStored)
            assert [body.run for body in stored] == ["", ""]
            with Reader(site.recorder.path) as reader:
                chunks = [reader.samples(body.chunk).items for body in stored]
            assert [len(items) for items in chunks] == [body.count for body in stored]
            times = [item.at_ns for items in chunks for item in items if isinstance(item, Sample)]
            assert times == sorted(set(times))

    run_virtual(main())


def test_silence_is_told_and_reading_goes_on_when_it_ends(tmp_path: Path) -> None:
    """Deaf, then cut, then there again: told each way, and the last reading is left standing with its age."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            beside = Beside(site)
            with reading(beside) as task:
                await asyncio.sleep(1)
                site.server.deaf = True
                await asyncio.sleep(2)
                assert beside.told[-1]
                latest = beside.background.latest
                assert latest is not None
                assert site.clock.unit_ns() - latest.readings.at_ns > 10**9
                site.drop_line()
                site.server.deaf = False
                await asyncio.sleep(4)
                assert beside.told[-1] == ""
                assert beside.background.latest is not latest
            await asyncio.wait({task})

    run_virtual(main())

"""The samples of one motion: none skipped, and none given up for somebody who stops waiting."""

import asyncio

import pytest

from commission.job.bodies import Body
from commission.record.writer import Pending
from commission.sample import Block, BlockRead, ReadPlan, Sample, SampleOrSilence, Silence, Table
from commission.sheet.decode import Decoder, Readings
from commission.supervise.bits import BitWatch
from commission.supervise.trail import Trail
from commission.supervise.watching import TAKEN_WITHIN_S, Watching
from tests.supervise.rig import demo_sheet
from tests.virtual_time import run_virtual, virtual_clock

PLAN = ReadPlan(11, (Block(Table.DISCRETE, 0, 2),))


class Slow:
    """A source that takes a tenth of a second for each read, and notes which were given up."""

    def __init__(self) -> None:
        self.begun = 0
        self.dropped = 0
        self.silent = False

    async def next(self) -> SampleOrSilence:
        """The next sample."""
        self.begun += 1
        number = self.begun
        try:
            await asyncio.sleep(0.1)
        except asyncio.CancelledError:
            self.dropped += 1
            raise
        at_ns = round(asyncio.get_running_loop().time() * 1e9)
        return Silence(number, 0, at_ns, "no answer") if self.silent else Sample(number, (BlockRead(at_ns, 1, (1, 0)),))


class Deafened:
    """A ledger that takes nothing."""

    def record(self, _body: Body, _by: str = "program") -> Pending:
        """Refuse."""
        raise OSError("the disk is full")

    def store_chunk(self, _data: bytes) -> str:
        """Refuse."""
        raise OSError("the disk is full")


def watching_of(source: Slow) -> Watching:
    """What watches a source, with a ledger that fails where it is asked."""
    clock = virtual_clock()
    return Watching(
        source, Decoder(demo_sheet(), PLAN), Trail("r1", PLAN, Deafened(), clock, BitWatch(Deafened())), clock
    )


def test_whoever_stops_waiting_leaves_the_read_in_flight() -> None:
    """A wait that ends first gives None; the same read is then awaited again, none is dropped and none skipped."""

    async def main() -> None:
        source = Slow()
        watching = watching_of(source)
        assert await watching.next(wait_s=0.03) is None
        stop: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        asyncio.get_running_loop().call_later(0.03, stop.set_result, "stop")
        assert await watching.next(until=stop) is None
        first = await watching.next()
        second = await watching.next()
        assert isinstance(first, Readings)
        assert isinstance(second, Readings)
        assert (first.number, second.number, source.begun, source.dropped) == (1, 2, 2, 0)

    run_virtual(main())


def test_cancelled_waiter_leaves_the_read_in_flight() -> None:
    """Cancelling the task that waits does not put a stray answer on the line either."""

    async def main() -> None:
        source = Slow()
        watching = watching_of(source)
        waiter = asyncio.ensure_future(watching.next())
        await asyncio.sleep(0.02)
        waiter.cancel()
        await asyncio.wait({waiter})
        assert (source.begun, source.dropped) == (1, 0)
        assert isinstance(await watching.next(), Readings)
        await watching.close()

    run_virtual(main())


def test_close_leaves_nothing_behind() -> None:
    """The read in flight is given up at the end, and closing twice is harmless."""

    async def main() -> None:
        source = Slow()
        watching = watching_of(source)
        await watching.next(wait_s=0.01)
        await watching.close()
        await watching.close()
        assert source.dropped == 1

    run_virtual(main())


def test_silence_grows_until_the_unit_is_heard() -> None:
    """Silences count as samples but not as hearing the unit; an answered command does count."""

    async def main() -> None:
        source = Slow()
        watching = watching_of(source)
        source.silent = True
        with pytest.raises(OSError, match="disk is full"):
            await watching.next()
        assert watching.number == 1
        assert watching.silent_s == pytest.approx(0.1)
        watching.heard()
        assert watching.silent_s == 0
        await asyncio.sleep(0.2)
        source.silent = False
        assert isinstance(await watching.next(), Readings)
        assert watching.silent_s == 0

    run_virtual(main())


def test_what_cannot_be_written_is_seen_all_the_same() -> None:
    """The record fails on the chunk; rest and newest readings know of the sample, as a safe end needs."""

    async def main() -> None:
        source = Slow()
        watching = watching_of(source)
        for _ in range(9):
            assert await watching.next() is not None
        with pytest.raises(OSError, match="disk is full"):
            await watching.next()
        assert watching.latest is not None
        assert watching.latest.number == watching.number == source.begun
        assert watching.rest.rest_s > 0.5

    run_virtual(main())


def test_whoever_draws_can_wait_for_the_moment_after_a_sample() -> None:
    """All who wait are told of the next sample, not of one that came before; where none comes they wait no longer."""

    async def main() -> None:
        loop = asyncio.get_running_loop()
        watching = watching_of(Slow())
        reading = loop.create_task(watching.next())
        began_s = loop.time()
        await asyncio.gather(watching.taken(), watching.taken())
        assert loop.time() - began_s == pytest.approx(TAKEN_WITHIN_S)  # the source takes 0.1 s
        await asyncio.sleep(0.03)
        await asyncio.gather(watching.taken(), watching.taken())
        assert loop.time() - began_s == pytest.approx(0.1)
        assert isinstance(await reading, Readings)

    run_virtual(main())

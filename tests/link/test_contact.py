"""Contact lost and restored: the same unit, proved again, or nothing."""

import asyncio
import itertools

import pytest

from commission.leave import Leave, LeaveSlot
from commission.link.faults import NotConnected, WrongUnit
from commission.link.write_guard import EnergyView
from commission.sample import Outcome, Sample, Silence
from tests.link.lines import demo_sheet, open_link
from tests.link.servers import IDENTITY, Device, practice_objects
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
LIVE = EnergyView("live", 7, frozenset({"command_open", "command_close"}))


@pytest.mark.parametrize(("before", "after"), [("20", None), (None, "20"), ("20", "10")])
def test_r15_unit_that_changes_its_practice_at_reconnect_is_refused(before: str | None, after: str | None) -> None:
    """A practice unit that comes back as none, the reverse, or at another speed: leave withdrawn, line closed."""

    async def main() -> None:
        silent = Device().objects
        device = Device(objects=practice_objects(before) if before else silent)
        slot = LeaveSlot()
        async with open_link(device, slot) as (link, wire):
            slot.grant(Leave("K1", {"command_close": (1,)}, 10**15, 7, "T. Placeholder"))
            device.objects = practice_objects(after) if after else silent
            wire.drop_connections()
            await asyncio.sleep(0.01)
            with pytest.raises(WrongUnit, match="is another unit on the line"):
                await link.reconnect()
            assert slot.current is None
            assert not link.connected

    run_virtual(main())


def test_sampler_reconnects_and_proves_the_unit_again() -> None:
    """After a lost connection the next turns reconnect, the practice challenge included, and samples go on."""

    async def main() -> None:
        async with open_link(Device(objects=practice_objects("20"))) as (link, wire):
            sampler = link.sampler(await link.plan(["travel"]))
            assert isinstance(await sampler.next(), Sample)
            wire.drop_connections()
            await asyncio.sleep(0.01)
            asked_before = sum(function == 43 for function, _ in wire.device.acted_at)
            items = [await sampler.next() for _ in range(4)]
            assert isinstance(items[-1], Sample)
            assert sum(function == 43 for function, _ in wire.device.acted_at) == asked_before + 4
            assert link.health.counts["reconnected"] == 1
            assert link.facts.identity == IDENTITY

    run_virtual(main())


def test_r10_nothing_is_written_before_the_unit_is_proved_again() -> None:
    """While reconnecting a slow unit, silences are told every 50 ms, and not even a stop goes to whoever answers."""

    async def main() -> None:
        async with open_link() as (link, wire):
            sampler = link.sampler(await link.plan(["travel"]))
            assert isinstance(await sampler.next(), Sample)
            wire.device.turnaround_s = 0.15
            wire.drop_connections()
            await asyncio.sleep(0.01)
            asked = len(wire.requests)
            before_s = asyncio.get_running_loop().time()
            silence = await sampler.next()
            assert isinstance(silence, Silence)
            assert silence.reason == "contact is lost; connecting again"
            assert asyncio.get_running_loop().time() - before_s <= 0.06
            with pytest.raises(NotConnected, match="not proved yet"):
                await link.make_safe("command_stop", 1)
            with pytest.raises(NotConnected):
                await link.read(["travel"])
            assert all(frame[7] in (4, 43) for _, frame in wire.requests[asked:])
            await link.reconnect()
            assert link.connected
            assert (await link.make_safe("command_stop", 1)).outcome is Outcome.ANSWERED

    run_virtual(main())


def test_closing_while_reconnecting_leaves_nothing_behind() -> None:
    """A link may be closed in the middle of an attempt."""

    async def main() -> None:
        async with open_link() as (link, wire):
            sampler = link.sampler(await link.plan(["travel"]))
            wire.device.turnaround_s = 0.15
            wire.drop_connections()
            await asyncio.sleep(0.01)
            assert isinstance(await sampler.next(), Silence)
            await link.close()
            assert not link.connected

    run_virtual(main())


def test_attempts_back_off_and_are_shared() -> None:
    """With the unit away, many who wait share one attempt, and attempts come at 0.1, 0.2, 0.5, 1, 1 … s."""

    async def main() -> None:
        async with open_link() as (link, wire):
            wire.drop_connections()
            await asyncio.sleep(0.01)
            tries: list[float] = []
            connect = link._line.connect

            async def counted() -> None:
                tries.append(asyncio.get_running_loop().time())
                await connect()

            link._line.connect = counted  # type: ignore[method-assign]  # counts, then does it
            wire.device.inputs[0] = 7
            for _ in range(6):
                failed = await asyncio.gather(link.reconnect(), link.reconnect(), return_exceptions=True)
                assert all(isinstance(fault, WrongUnit) for fault in failed)
            waits = [later - earlier for earlier, later in itertools.pairwise(tries)]
            assert waits == pytest.approx([0.1, 0.2, 0.5, 1.0, 1.0], abs=0.03)

    run_virtual(main())

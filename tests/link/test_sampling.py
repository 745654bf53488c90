"""Polling: each sample or silence, none skipped."""

import itertools

import pytest

from commission.link.faults import NotConnected
from commission.link.line import Line
from commission.link.plan import plan_for
from commission.link.sampling import Sampler
from commission.sample import Sample, Silence
from tests.link.lines import demo_sheet, open_line
from tests.link.servers import Device, tcp_unit
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
PLAN = plan_for(SHEET, ["travel", "open_limit"])
both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])


def _sampler(line: Line, period_s: float | None = None) -> Sampler:
    async def ready(_wait_s: float) -> None:
        if not line.connected:
            await line.connect()

    return Sampler(line, SHEET, PLAN, ready, period_s, 0.1)


@both
def test_samples_are_numbered_from_one_and_keep_the_order_of_the_plan(*, rtu: bool) -> None:
    """Each sample has one read a block, in order, with times that only grow."""

    async def main() -> None:
        device = Device()
        device.inputs |= {10: 1, 11: 2}
        device.discretes[0] = 1
        async with open_line(device, rtu=rtu) as (line, _):
            sampler = _sampler(line)
            samples = [await sampler.next() for _ in range(5)]
            assert [sample.number for sample in samples] == [1, 2, 3, 4, 5]
            times = []
            for sample in samples:
                assert isinstance(sample, Sample)
                assert {read.words for read in sample.reads} == {(1, 2), (1,)}
                times += [read.at_ns for read in sample.reads]
            assert times == sorted(times)
            assert line.health.age_s(times[-1]) == 0

    run_virtual(main())


def test_silence_takes_the_number_of_the_sample_that_is_missing() -> None:
    """A cycle without an answer is a silence since the last good sample, with the reason, and counting goes on."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            sampler = _sampler(line)
            good = await sampler.next()
            wire.device.hang_reads = True
            silence = await sampler.next()
            wire.device.hang_reads = False
            assert isinstance(good, Sample)
            assert isinstance(silence, Silence)
            assert (good.number, silence.number, silence.since_ns) == (1, 2, good.at_ns)
            assert silence.at_ns > good.at_ns
            assert silence.reason == "no answer within 0.10 s"
            rest = [await sampler.next() for _ in range(12)]
            again = next(item for item in rest if isinstance(item, Sample))
            assert [item.number for item in rest] == list(range(3, 15))
            assert again.at_ns > silence.at_ns

    run_virtual(main())


def test_r22_silence_is_said_every_50_ms_while_the_line_stays_quiet() -> None:
    """After a lost answer the line stays quiet for 0.4 s, but a gap of 250 ms is told within 50 ms of happening."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            sampler = _sampler(line)
            good = await sampler.next()
            assert isinstance(good, Sample)
            wire.device.hang_reads = True
            told: list[float] = []
            while not told or told[-1] < 250e6:
                silence = await sampler.next()
                assert isinstance(silence, Silence)
                assert silence.since_ns == good.at_ns
                told.append(silence.at_ns - good.at_ns)
            assert told[-1] <= 302e6

    run_virtual(main())


def test_missing_register_is_said_with_its_name() -> None:
    """A refused address becomes the sentence about the list, not a code."""

    async def main() -> None:
        device = Device()
        del device.inputs[10]
        async with open_line(device, rtu=False) as (line, _):
            silence = await _sampler(line).next()
            assert isinstance(silence, Silence)
            assert silence.reason == "the unit has no input registers 10 to 11 (travel): does its list count from 1?"

    run_virtual(main())


def test_period_is_kept_in_unit_time_and_missed_turns_are_not_made_up() -> None:
    """At a period of 1 s the samples are 1 s apart in unit time at any speed; after a long pause there is no burst."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, _):
            line.clock.run_at(10)
            sampler = _sampler(line, 1.0)
            times = [(await sampler.next()).at_ns for _ in range(4)]
            for earlier, later in itertools.pairwise(times):
                assert later - earlier == pytest.approx(1e9, abs=2e7)
            await line.clock.sleep_unit(5.5)
            first = (await sampler.next()).at_ns
            assert (await sampler.next()).at_ns - first >= 0.3e9

    run_virtual(main())


def test_lost_unit_is_silence_until_it_is_back() -> None:
    """While the unit is away each turn is a silence; when it is back the samples go on, on a new connection."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, wire):
            sampler = _sampler(line, 0.5)
            assert isinstance(await sampler.next(), Sample)
            wire.drop_connections()
            port = wire.port
        away = [await sampler.next() for _ in range(4)]
        assert all(isinstance(silence, Silence) for silence in away)
        assert "cannot be opened" in getattr(away[-1], "reason", "")
        async with tcp_unit(port=port):
            back = await sampler.next()
            assert isinstance(back, Sample)
            assert back.number == 6
            await line.close()

    run_virtual(main())


def test_r18_alive_point_is_read_beside_a_plan_that_lacks_it() -> None:
    """Every 2 s of unit time the alive point is read too, so that a frozen unit is noticed while a stroke is timed."""

    async def main() -> None:
        device = Device()
        async with open_line(device, rtu=False) as (line, _):
            sampler = _sampler(line, 0.25)
            now_ns = 0
            for turn in range(30):
                device.inputs[14] = turn
                now_ns = (await sampler.next()).at_ns
            assert line.health.struck_out(now_ns) is None
            for _ in range(30):
                now_ns = (await sampler.next()).at_ns
            assert "has not changed" in (line.health.struck_out(now_ns) or "")
            asked = [function for function, _ in device.acted_at]
            assert len(asked) == pytest.approx(120 + 15 / 2, abs=2)

    run_virtual(main())


def test_iterating_gives_the_same_as_asking() -> None:
    """`async for` hands out the samples that `next` would."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, _):
            numbers = []
            async for sample in _sampler(line):
                numbers.append(sample.number)
                if len(numbers) == 3:
                    break
            assert numbers == [1, 2, 3]

    run_virtual(main())


def test_refused_reconnect_is_silence_with_its_sentence() -> None:
    """What the reconnection finds wrong is the reason of the silence."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, _):
            await line.close()

            async def refuse(_wait_s: float) -> None:
                raise NotConnected("the port is gone")

            silence = await Sampler(line, SHEET, PLAN, refuse).next()
            assert isinstance(silence, Silence)
            assert silence.reason == "the port is gone"

    run_virtual(main())

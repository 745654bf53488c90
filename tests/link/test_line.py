"""The line: what is accepted as an answer, who goes first, and when things happened."""

import asyncio
from collections.abc import Callable

import pytest

from commission.link.faults import BadAnswer, NoAnswer, NotConnected, Overtaken, UnitRefused
from commission.link.lanes import Lane
from commission.link.line import Line
from commission.sample import Block, Outcome, Table
from tests.link.lines import open_line
from tests.link.servers import CHARACTER_S, IDENTITY, Device
from tests.virtual_time import run_virtual

both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
ONE = Block(Table.INPUT, 0, 1)
COIL_2 = (Table.COIL, 2, (1,))


@both
def test_reads_all_four_tables(*, rtu: bool) -> None:
    """Words and bits come back as the unit holds them, bits without the padding of their last byte."""

    async def main() -> None:
        device = Device()
        device.inputs |= {10: 555, 11: 0, 12: 65535}
        device.holdings |= {5: 7}
        device.coils |= {3: 1}
        device.discretes |= {0: 1, 8: 1}
        async with open_line(device, rtu=rtu) as (line, _):
            assert (await line.read(Block(Table.INPUT, 10, 3))).words == (555, 0, 65535)
            assert (await line.read(Block(Table.HOLDING, 5, 2))).words == (7, 0)
            assert (await line.read(Block(Table.COIL, 2, 3))).words == (0, 1, 0)
            assert (await line.read(Block(Table.DISCRETE, 0, 9))).words == (1, 0, 0, 0, 0, 0, 0, 0, 1)

    run_virtual(main())


@both
def test_writes_coil_register_and_pair(*, rtu: bool) -> None:
    """One coil, one register and a run of registers arrive, and are answered."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, wire):
            for table, address, words in (COIL_2, (Table.HOLDING, 4, (900,)), (Table.HOLDING, 6, (1, 2))):
                assert (await line.write(table, address, words)).outcome is Outcome.ANSWERED
            assert wire.device.coils[2] == 1
            assert [wire.device.holdings[address] for address in (4, 6, 7)] == [900, 1, 2]

    run_virtual(main())


@both
def test_half_width_contains_the_moment_the_unit_read(*, rtu: bool) -> None:
    """The unit's own note of when it read lies within midpoint ± half-width, which is no wider than needed."""

    async def main() -> None:
        async with open_line(Device(turnaround_s=0.03), rtu=rtu) as (line, wire):
            for count in (1, 8, 20):
                read = await line.read(Block(Table.INPUT, 0, count))
                truth_ns = wire.device.acted_at[-1][1] * 1e9
                assert abs(truth_ns - read.at_ns) <= read.half_width_ns
                assert read.half_width_ns < 0.017e9  # half the turnaround, plus four bytes of arrival on a serial line
            written = await line.write(*COIL_2)
            assert abs(wire.device.acted_at[-1][1] * 1e9 - written.at_ns) <= written.half_width_ns

    run_virtual(main())


@both
def test_half_width_is_wire_time_times_speed(*, rtu: bool) -> None:
    """At speed 20 the same window is twenty times as wide in unit time, and still contains the truth."""

    async def main() -> None:
        async with open_line(Device(turnaround_s=0.03), rtu=rtu) as (line, wire):
            plain = await line.read(ONE)
            line.clock.run_at(20)
            fast = await line.read(ONE)
            truth_ns = line.clock.unit_of_wire(round(wire.device.acted_at[-1][1] * 1e9))
            assert abs(truth_ns - fast.at_ns) <= fast.half_width_ns
            assert fast.half_width_ns == pytest.approx(20 * plain.half_width_ns, rel=0.05)

    run_virtual(main())


@both
def test_refusal_carries_code_and_place(*, rtu: bool) -> None:
    """An exception answer is a fault of its own, at once, and no reason to stay quiet."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, _):
            with pytest.raises(UnitRefused) as refused:
                await line.read(Block(Table.INPUT, 312, 2))
            assert (refused.value.code, refused.value.address, refused.value.count) == (2, 312, 2)
            before_ns = line.clock.wire_ns()
            assert (await line.read(ONE)).words == (IDENTITY,)
            assert line.clock.wire_ns() - before_ns < 0.05e9

    run_virtual(main())


@pytest.mark.parametrize(
    ("code", "outcome"), [(1, "refused"), (3, "refused"), (4, "refused"), (6, "refused"), (5, "answered")]
)
def test_refused_write_is_told_apart_from_one_still_in_work(code: int, outcome: str) -> None:
    """Exception 5 means accepted and in work; every other refuses."""

    async def main() -> None:
        async with open_line(Device(refuse_writes_with=code), rtu=False) as (line, _):
            written = await line.write(*COIL_2)
            assert written.outcome == outcome
            assert f"exception {code}" in written.reason

    run_virtual(main())


@both
def test_silence_is_no_answer_after_the_time_out(*, rtu: bool) -> None:
    """A unit that says nothing costs the time-out that was asked for, and the sentence says how long."""

    async def main() -> None:
        async with open_line(Device(hang_reads=True), rtu=rtu) as (line, _):
            before_ns = line.clock.wire_ns()
            with pytest.raises(NoAnswer, match=r"no answer within 0\.10 s"):
                await line.read(ONE, timeout_s=0.1)
            assert 0.1e9 <= line.clock.wire_ns() - before_ns < 0.13e9

    run_virtual(main())


@both
def test_unanswered_write_is_sent_once(*, rtu: bool) -> None:
    """A command whose answer is lost is reported unanswered, and was on the wire exactly once."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, wire):
            wire.mangle = lambda _frame: []
            written = await line.write(*COIL_2)
            assert written.outcome is Outcome.UNANSWERED
            assert len(wire.requests) == 1
            acted_ns = wire.device.acted_at[-1][1] * 1e9
            assert abs(acted_ns - written.at_ns) <= written.half_width_ns

    run_virtual(main())


async def _late_answer_to_next(line: Line, wire_delay: list[float]) -> int:
    wire_delay[0] = 0.28
    with pytest.raises(NoAnswer):
        await line.read(Block(Table.INPUT, 1, 1), timeout_s=0.1)
    wire_delay[0] = 0.0
    return (await line.read(Block(Table.INPUT, 2, 1), timeout_s=0.3)).words[0]


def test_late_answer_is_not_taken_for_the_next() -> None:
    """After a time-out the line stays quiet until the late answer has come, and drops it."""

    async def main() -> None:
        device = Device()
        device.inputs |= {1: 111, 2: 222}
        async with open_line(device, rtu=True) as (line, wire):
            delay = [0.0]
            wire.mangle = lambda frame: [(delay[0], frame)]
            assert await _late_answer_to_next(line, delay) == 222

    run_virtual(main())


def test_control_without_the_quiet_time_the_late_answer_is_taken() -> None:
    """The same exchange with the cure taken out gives the wrong register: the test above can fail."""

    async def main() -> None:
        device = Device()
        device.inputs |= {1: 111, 2: 222}
        async with open_line(device, rtu=True) as (line, wire):
            delay = [0.0]
            wire.mangle = lambda frame: [(delay[0], frame)]
            line._go_quiet = lambda: None  # type: ignore[method-assign]  # the cure taken out
            assert await _late_answer_to_next(line, delay) == 111

    run_virtual(main())


def _with_function(frame: bytes) -> list[tuple[float, bytes]]:
    return [(0.0, frame[:7] + bytes([frame[7] ^ 1]) + frame[8:])]


def _too_short(frame: bytes) -> list[tuple[float, bytes]]:
    return [(0.0, frame[:4] + b"\x00\x03" + frame[6:8] + b"\x00")]


def _other_unit(frame: bytes) -> list[tuple[float, bytes]]:
    return [(0.0, frame[:6] + b"\x05" + frame[7:])]


def _wrong_count(frame: bytes) -> list[tuple[float, bytes]]:
    return [(0.0, frame[:8] + b"\x04" + frame[9:])]


@pytest.mark.parametrize(
    ("mangle", "words"),
    [
        (_with_function, "function"),
        (_too_short, "bytes came"),
        (_other_unit, "unit 5 answered"),
        (_wrong_count, "data bytes"),
    ],
)
def test_what_is_not_the_answer_is_dropped_at_once(mangle: object, words: str) -> None:
    """Wrong function, length, unit or byte count is a bad answer, told at once rather than after the time-out."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, wire):
            wire.mangle = mangle  # type: ignore[assignment]  # one of the four above
            with pytest.raises(BadAnswer, match=words):
                await line.read(ONE)
            assert line.health.counts["BadAnswer"] == 1

    run_virtual(main())


def test_write_answer_that_names_another_point_is_unanswered() -> None:
    """An answer for another address is not the answer to what was written."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, wire):
            wire.mangle = lambda frame: [(0.0, frame[:-3] + b"\x05" + frame[-2:])]
            written = await line.write(Table.HOLDING, 4, (900,))
            assert written.outcome is Outcome.UNANSWERED
            assert "names another point" in written.reason

    run_virtual(main())


@pytest.mark.parametrize("lane", [Lane.COMMAND, Lane.MAKE_SAFE])
@pytest.mark.parametrize(("table", "words"), [(Table.COIL, (1,)), (Table.HOLDING, (0x0101,))])
def test_answer_with_another_value_is_an_answer_and_says_so(table: Table, words: tuple[int, ...], lane: Lane) -> None:
    """A unit that clears the coil or clamps the register and answers what it holds has answered, and it is told."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, wire):
            wire.mangle = lambda frame: [(0.0, frame[:-2] + b"\x00\x00")]
            written = await line.write(table, 2, words, lane)
            assert written.outcome is Outcome.ANSWERED
            assert written.reason == f"the answer shows 0, not the {words[0]} that was written"

    run_virtual(main())


def test_late_answer_on_tcp_is_told_by_its_transaction() -> None:
    """An answer of an abandoned request that comes first is skipped, and the right one behind it is taken."""

    async def main() -> None:
        device = Device()
        device.inputs |= {1: 111, 2: 222}
        async with open_line(device, rtu=False) as (line, wire):
            kept: list[bytes] = []

            def hold_first(frame: bytes) -> list[tuple[float, bytes]]:
                if not kept:
                    kept.append(frame)
                    return []
                return [(0.0, kept[0]), (0.0, frame)]

            wire.mangle = hold_first
            reading = asyncio.ensure_future(line.read(Block(Table.INPUT, 1, 1)))
            await asyncio.sleep(0.02)
            reading.cancel()
            assert (await line.read(Block(Table.INPUT, 2, 1))).words == (222,)
            assert reading.cancelled()

    run_virtual(main())


def _as_the_answer_comes(line: Line, act: Callable[[], object]) -> None:
    """Do something in the very turn of the loop in which the answer arrives, before the library has taken it."""
    received = line._tap.received

    def with_act(buffer: bytes) -> bytes:
        answer = received(buffer)
        if answer:
            act()
        return answer

    line._tap.received = with_act  # type: ignore[method-assign]  # the moment that no other way hits


@both
def test_cancellation_of_a_read_is_not_lost_to_an_answer_of_the_same_moment(*, rtu: bool) -> None:
    """`asyncio.wait_for` of Python 3.11, inside the library, returns the answer and forgets the cancellation."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, _):
            reading = asyncio.ensure_future(line.read(ONE))
            _as_the_answer_comes(line, reading.cancel)
            await asyncio.wait({reading})
            assert reading.cancelled()
            assert (await line.read(ONE)).words == (1101,)  # and the line is as good as before

    run_virtual(main())


@both
def test_time_limit_around_a_read_is_not_lost_to_an_answer_of_the_same_moment(*, rtu: bool) -> None:
    """Whoever limits a read is told that the limit was passed; one whose limit was passed before still reads."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, _):
            with pytest.raises(TimeoutError):
                await limited(line)
            assert (await line.read(ONE)).words == (1101,)

    async def limited(line: Line) -> None:
        async with asyncio.timeout(10) as limit:
            _as_the_answer_comes(line, lambda: None if limit.expired() else asyncio.Timeout.reschedule(limit, 0))
            while True:
                await line.read(ONE)

    run_virtual(main())


def test_who_cleans_up_after_a_cancellation_can_still_read() -> None:
    """Only what was asked for during the read ends it, not a cancellation that is being obeyed already."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, _):

            async def to_its_end() -> tuple[int, ...]:
                try:
                    await asyncio.Event().wait()
                finally:
                    found.append((await line.read(ONE)).words)
                return ()

            found: list[tuple[int, ...]] = []
            task = asyncio.ensure_future(to_its_end())
            await asyncio.sleep(0.01)
            task.cancel()
            await asyncio.wait({task})
            assert task.cancelled()
            assert found == [(1101,)]

    run_virtual(main())


async def _make_safe_while_reading(line: Line) -> tuple[float, object]:
    reading = asyncio.ensure_future(line.read(Block(Table.INPUT, 0, 4)))
    await asyncio.sleep(0.03)
    before_s = asyncio.get_running_loop().time()
    written = await line.write(*COIL_2, lane=Lane.MAKE_SAFE)
    assert written.outcome is Outcome.ANSWERED
    (outcome,) = await asyncio.gather(reading, return_exceptions=True)
    return before_s, outcome


@both
def test_r08_make_safe_goes_while_a_read_hangs(*, rtu: bool) -> None:
    """With the unit deaf to a read, make-safe is on the wire at once on TCP, and within the promised time on RTU."""

    async def main() -> None:
        async with open_line(Device(hang_reads=True), rtu=rtu) as (line, wire):
            line.test_timeout_s = 0.06
            before_s, outcome = await _make_safe_while_reading(line)
            assert isinstance(outcome, Overtaken)
            sent_s, frame = wire.requests[-1]
            assert frame[-8 if rtu else -12 :][1 if rtu else 7] == 5
            waited_s = sent_s + len(frame) * CHARACTER_S * rtu - before_s
            assert waited_s <= (line.make_safe_s() if rtu else 0.002)

    run_virtual(main())


def test_r08_make_safe_waits_for_an_answer_that_is_coming() -> None:
    """On a serial line a read that is answered in time is not spoiled by the make-safe behind it."""

    async def main() -> None:
        async with open_line(Device(turnaround_s=0.05), rtu=True) as (line, _):
            _, outcome = await _make_safe_while_reading(line)
            assert not isinstance(outcome, BaseException)

    run_virtual(main())


def test_r08_make_safe_skips_the_quiet_time_and_others_do_not() -> None:
    """After a time-out make-safe goes at once; a read that was already waiting goes after the quiet time."""

    async def main() -> None:
        async with open_line(Device(hang_reads=True), rtu=True) as (line, wire):
            with pytest.raises(NoAnswer):
                await line.read(ONE, timeout_s=0.05)
            wire.device.hang_reads = False
            waiting = asyncio.ensure_future(line.read(ONE))
            await asyncio.sleep(0)
            before_ns = line.clock.wire_ns()
            await line.write(*COIL_2, lane=Lane.MAKE_SAFE)
            assert line.clock.wire_ns() - before_ns < 0.03e9
            assert (await waiting).words == (IDENTITY,)
            assert line.clock.wire_ns() - before_ns > line.settings.slowest_reply_s * 1e9 * 0.8

    run_virtual(main())


def test_r08_make_safe_finds_its_answer_behind_a_late_one() -> None:
    """The late answer of the read it overtook comes first; the make-safe's own answer is still recognised."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            stale: list[bytes] = []

            def late(frame: bytes) -> list[tuple[float, bytes]]:
                if frame[1] == 4:
                    stale.append(frame)
                    return []
                return [(0.0, stale[0] + frame)]

            wire.mangle = late
            with pytest.raises(NoAnswer):
                await line.read(ONE, timeout_s=0.05)
            assert (await line.write(*COIL_2, lane=Lane.MAKE_SAFE)).outcome is Outcome.ANSWERED

    run_virtual(main())


def test_r08_make_safe_goes_before_commands_and_reads_that_wait() -> None:
    """With one exchange in flight and a read and a command waiting, make-safe is next, then the command."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(line.read(ONE))
                await asyncio.sleep(0)
                tasks.create_task(line.read(Block(Table.DISCRETE, 0, 8)))
                tasks.create_task(line.write(Table.HOLDING, 4, (1,)))
                await asyncio.sleep(0.001)
                tasks.create_task(line.write(*COIL_2, lane=Lane.MAKE_SAFE))
            assert [frame[1] for _, frame in wire.requests] == [4, 5, 6, 2]

    run_virtual(main())


def test_frames_on_a_serial_line_keep_the_gap() -> None:
    """From the last byte of an answer to the next request at least 3.5 characters pass."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            ends: list[float] = []

            def note(frame: bytes) -> list[tuple[float, bytes]]:
                ends.append(asyncio.get_running_loop().time() + len(frame) * CHARACTER_S)
                return [(0.0, frame)]

            wire.mangle = note
            for _ in range(5):
                await line.read(ONE)
            gaps = [begin - end for (begin, _), end in zip(wire.requests[1:], ends, strict=False)]
            assert min(gaps) >= 3.5 * CHARACTER_S - 1e-6
            assert max(gaps) < 3.5 * CHARACTER_S + 0.001

    run_virtual(main())


def test_own_bytes_that_come_back_are_taken_off() -> None:
    """On an adapter that echoes, reads and writes still get the unit's answer, and a write needs the unit's own."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            wire.echo = True
            assert (await line.read(ONE)).words == (IDENTITY,)
            assert line.echo
            assert (await line.read(Block(Table.INPUT, 0, 3))).words == (IDENTITY, 0, 0)
            assert (await line.write(*COIL_2)).outcome is Outcome.ANSWERED
            wire.mangle = lambda _frame: []
            assert (await line.write(*COIL_2)).outcome is Outcome.UNANSWERED

    run_virtual(main())


def test_lost_connection_ends_the_exchange_at_once() -> None:
    """A peer that goes away mid-request is noticed then, not at the time-out; after that nothing is sent."""

    async def main() -> None:
        async with open_line(Device(hang_reads=True), rtu=False) as (line, wire):
            reading = asyncio.ensure_future(line.read(ONE))
            await asyncio.sleep(0.02)
            wire.drop_connections()
            before_ns = line.clock.wire_ns()
            with pytest.raises(NoAnswer, match="connection was lost"):
                await reading
            assert line.clock.wire_ns() - before_ns < 0.01e9
            with pytest.raises(NotConnected):
                await line.write(*COIL_2)

    run_virtual(main())


@both
def test_nobody_there_is_a_sentence(*, rtu: bool) -> None:
    """A port or host that cannot be opened gives one sentence, no traceback and no open socket."""

    async def main() -> None:
        async with open_line(rtu=rtu) as (line, _):
            pass
        with pytest.raises(NotConnected, match="cannot be opened"):
            await line.connect()
        assert not line.connected

    run_virtual(main())

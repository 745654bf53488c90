"""What happens in a motion, as the record keeps it: chunks, bits, gaps, what was sent."""

from pathlib import Path

from commission.clock import Clock
from commission.job.bodies import BitsChanged, Body, CommandSent, GapSeen, SamplesStored
from commission.procedures.full_stroke import full_stroke
from commission.record.chunks import unpack
from commission.record.reader import Reader
from commission.record.writer import Pending
from commission.sample import Block, BlockRead, Outcome, ReadPlan, Sample, Silence, Table, Written
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.supervise.bits import BitWatch
from commission.supervise.trail import Trail
from tests.supervise.rig import rig
from tests.virtual_time import run_virtual

PLAN = ReadPlan(11, (Block(Table.DISCRETE, 0, 2),))


class Kept:
    """A ledger in memory: what a trail says, in order."""

    def __init__(self) -> None:
        self.bodies: list[Body] = []
        self.chunks: list[bytes] = []

    def record(self, body: Body, by: str = "program") -> Pending:
        """Keep it."""
        del by
        self.bodies.append(body)
        return None  # type: ignore[return-value]  # a trail waits for nothing that it records

    def store_chunk(self, data: bytes) -> str:
        """Keep it."""
        self.chunks.append(data)
        return f"chunk {len(self.chunks)}"


def bits(number: int, at_ms: int, **values: float) -> tuple[Sample, Readings]:
    """One sample of bits, read within a millisecond of `at_ms`."""
    at_ns = at_ms * 1_000_000
    sample = Sample(number, (BlockRead(at_ns, 1_000_000, (0, 0)),))
    return sample, Readings(number, at_ns, {role: Reading(value, at_ns, 1_000_000) for role, value in values.items()})


def trail_at(wire_ms: list[int]) -> tuple[Trail, Kept]:
    """A trail whose wire clock stands where the last of `wire_ms` says."""
    kept = Kept()
    return Trail("r1", PLAN, kept, Clock(wire_ns=lambda: wire_ms[-1] * 1_000_000), BitWatch(kept)), kept


def test_chunks_of_a_stroke_cover_less_than_a_second(tmp_path: Path) -> None:
    """Every sample of a real stroke is in a chunk, in order, none twice, and no chunk spans a second of wire time."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            ended = await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            assert ended.observed is not None
            stored = site.bodies(SamplesStored)
            with Reader(site.recorder.path) as reader:
                chunks = [reader.samples(body.chunk).items for body in stored]
            assert [len(items) for items in chunks] == [body.count for body in stored]
            assert all((items[-1].at_ns - items[0].at_ns) / 1e9 < 1.0 for items in chunks)
            numbers = [item.number for items in chunks for item in items]
            assert numbers == list(range(1, len(ended.observed.seen) + 1))

    run_virtual(main())


def test_limits_of_a_stroke_are_said_as_they_change(tmp_path: Path) -> None:
    """The open limit drops, the closed limit makes; each between two times that hold the true one between them."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            await site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1"))
            changed = site.bodies(BitsChanged)
            assert {"open_limit": (1, 0)} in [dict(body.changes) for body in changed]
            assert {"closed_limit": (0, 1)} in [dict(body.changes) for body in changed]
            ends = [body for body in changed if body.changes.keys() & {"open_limit", "closed_limit"}]
            assert all(0 < body.by_ns - body.after_ns < 70_000_000 for body in ends), changed

    run_virtual(main())


def test_change_of_a_bit_lies_between_the_reads_widened_by_their_half_widths() -> None:
    """The bit itself was read at 10 ± 1 and at 30 ± 1 ms: it changed between 9 and 31."""
    trail, kept = trail_at([0])
    trail.sample(*bits(1, 10, open_limit=1.0, remote=1.0))
    trail.sample(*bits(2, 30, open_limit=0.0, remote=1.0))
    trail.sample(*bits(3, 50, open_limit=0.0))
    trail.sample(*bits(4, 70, open_limit=0.0, remote=0.0))
    assert kept.bodies == [
        BitsChanged(run="r1", changes={"open_limit": (1, 0)}, after_ns=9_000_000, by_ns=31_000_000),
        BitsChanged(run="r1", changes={"remote": (1, 0)}, after_ns=29_000_000, by_ns=71_000_000),
    ], "a bit that was not read in between changed between the two readings that there are"


def test_chunk_is_stored_by_the_clock_also_when_nothing_more_comes() -> None:
    """After 0.9 s of wire time a tick stores what there is; before, nothing."""
    wire_ms = [0]
    trail, kept = trail_at(wire_ms)
    trail.sample(*bits(1, 10))
    wire_ms.append(899)
    trail.tick()
    assert not kept.chunks
    wire_ms.append(900)
    trail.tick()
    trail.tick()
    assert len(kept.chunks) == 1
    assert kept.bodies == [SamplesStored(run="r1", chunk="chunk 1", plan=PLAN.digest, count=1)]
    assert unpack(kept.chunks[0]).plan == PLAN.digest


def test_silence_is_kept_and_said() -> None:
    """It stands in the chunk at its place, and in an event."""
    trail, kept = trail_at([0])
    trail.silence(Silence(1, 5, 9, "no answer"))
    trail.flush()
    trail.flush()
    assert kept.bodies == [
        GapSeen(run="r1", since_ns=5, at_ns=9, reason="no answer"),
        SamplesStored(run="r1", chunk="chunk 1", plan=PLAN.digest, count=1),
    ]
    assert unpack(kept.chunks[0]).items == (Silence(1, 5, 9, "no answer"),)


def test_what_was_sent_is_said_and_handed_back() -> None:
    """The reply for the procedure is what the record has, so that a replay gives the same."""
    trail, kept = trail_at([0])
    sent = trail.sent("command_stop", 1, Written(7, 2, Outcome.UNANSWERED, "no answer"), "safe end")
    body = kept.bodies[0]
    assert isinstance(body, CommandSent)
    assert (body.role, body.value, body.at_ns, body.half_width_ns) == (
        "command_stop",
        1,
        sent.at_ns,
        sent.half_width_ns,
    )
    assert (body.outcome, body.purpose, body.reason) == ("unanswered", "safe end", sent.reason)

"""
Polling one plan: exactly each sample or silence, in order, none skipped and none invented.

Whoever iterates gets `Sample` 1, 2, 3 … or a `Silence` bearing the number of the sample that is missing. Nothing is
read ahead: the cycle runs while it is awaited, so a slow reader lowers the cadence, which the samples' times show.
"""

import contextlib
from collections.abc import Awaitable, Callable
from typing import Self

from commission.clock import NS_PER_S
from commission.link.faults import LinkError, NoAnswer, explain
from commission.link.line import Line
from commission.sample import Block, BlockRead, ReadPlan, Sample, SampleOrSilence, Silence
from commission.sheet import Sheet
from commission.sheet.decode import block_of

_ALIVE_EVERY_S = 2.0
"""How often the alive point is read beside a plan that lacks it, in unit time: twice within its limit of 5 s."""

SAY_EVERY_S = 0.05
"""While nothing can be read (quiet time, reconnecting) a silence is said this often, in wire time: a gap in a motion
must be noticed long before the line is good again (safety rule R22)."""


class Sampler:
    """
    Reads a plan again and again.

    Args:
        line: The wire.

        sheet: The unit's sheet, for words and for the alive point.

        plan: What one cycle reads.

        ready: Waits so many seconds at most until the line is open and proved, and raises a `LinkError` if it is not.

        period_s: Seconds of unit time from one cycle to the next; None for as fast as the line allows.

        timeout_s: Longest wait for one answer, in wire time.
    """

    def __init__(
        self,
        line: Line,
        sheet: Sheet,
        plan: ReadPlan,
        ready: Callable[[float], Awaitable[None]],
        period_s: float | None = None,
        timeout_s: float | None = None,
    ) -> None:
        self.plan = plan
        self._line = line
        self._sheet = sheet
        self._ready = ready
        self._period_ns = None if period_s is None else round(period_s * NS_PER_S)
        self._timeout_s = timeout_s
        self._number = 1
        self._last_fault = ""
        self._since_ns = self._due_ns = line.clock.unit_ns()
        self._alive = _alive_block(sheet)
        self._alive_due_ns = self._since_ns

    def __aiter__(self) -> Self:
        return self

    async def __anext__(self) -> SampleOrSilence:
        return await self.next()

    async def next(self) -> SampleOrSilence:
        """The next sample, or the silence in its place. Never raises for a fault of the wire."""
        await self._until_due()
        try:
            await self._ready(SAY_EVERY_S)
            await self._say_quiet()
            sample = Sample(self._number, await self._cycle())
        except LinkError as fault:
            self._last_fault = explain(self._sheet, fault)
            silence = Silence(self._number, self._since_ns, self._line.clock.unit_ns(), self._last_fault)
            self._number += 1
            return silence
        self._number += 1
        self._last_fault = ""
        self._since_ns = sample.at_ns
        self._line.health.sampled(sample.at_ns)
        return sample

    async def _until_due(self) -> None:
        clock = self._line.clock
        if self._period_ns is None:
            return
        if clock.unit_ns() < self._due_ns:
            await clock.until_unit(self._due_ns)  # a timer of the event loop alone would be up to a millisecond late
        else:
            await clock.sleep_wire(0.0)  # whoever else waits has their turn, also where nothing can be read
        missed = max(0, clock.unit_ns() - self._due_ns) // self._period_ns
        self._due_ns += (missed + 1) * self._period_ns

    async def _say_quiet(self) -> None:
        if self._line.quiet_left_s() > SAY_EVERY_S:
            await self._line.clock.sleep_wire(SAY_EVERY_S)
            raise NoAnswer(self._last_fault or "the line stays quiet after an answer that did not come")

    async def _cycle(self) -> tuple[BlockRead, ...]:
        reads = []
        for block in self.plan.blocks:
            read = await self._line.read(block, timeout_s=self._timeout_s)
            self._note_alive(block, read)
            reads.append(read)
        await self._read_alive()
        return tuple(reads)

    def _note_alive(self, block: Block, read: BlockRead) -> None:
        """Take the alive point's words out of a read that covers it."""
        alive = self._alive
        if alive is None or block.table is not alive.table:
            return
        offset = alive.address - block.address
        if 0 <= offset <= block.count - alive.count:
            self._line.health.alive_read(read.words[offset : offset + alive.count], read.at_ns)
            self._alive_due_ns = read.at_ns + round(_ALIVE_EVERY_S * NS_PER_S)

    async def _read_alive(self) -> None:
        """Read the alive point now and then where the plan lacks it; its failure is no silence of the plan."""
        if self._alive is not None and self._line.clock.unit_ns() >= self._alive_due_ns:
            with contextlib.suppress(LinkError):
                self._note_alive(self._alive, await self._line.read(self._alive, timeout_s=self._timeout_s))


def _alive_block(sheet: Sheet) -> Block | None:
    point = sheet.point(sheet.link.alive)
    return None if point is None or point.read_clears else block_of(sheet, point)

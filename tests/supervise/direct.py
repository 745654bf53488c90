"""
A practice unit without a wire: real unit, registers, decoder, write guard and supervisor, in a loop that only jumps.

For runs by the thousand. What the wire adds is put in by hand: the time from one sample to the next, the time that a
command takes, and silences, each where a test wants it.

    ended, site = made_directly(sheet, lambda site: partial_stroke(sheet, told), condition=Condition(...))
"""

import asyncio
import selectors
from collections.abc import Callable, Coroutine
from concurrent.futures import Future
from typing import Any, TypeVar

import msgspec

from commission.clock import NS_PER_S, Clock
from commission.job.bodies import Body, kind_of
from commission.leave import Leave, LeaveSlot
from commission.link.plan import Bridge, plan_for
from commission.link.write_guard import EnergyView, WriteGuard
from commission.practice.condition import HEALTHY, Condition
from commission.practice.device import Device, ModbusFault, TableName
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit, Truth
from commission.procedures.requests import Answer, Ask, Begin, Procedure
from commission.record.event import Event
from commission.record.writer import Pending
from commission.sample import BlockRead, Outcome, ReadPlan, Sample, SampleOrSilence, Silence, Written
from commission.sheet import End, Sheet
from commission.supervise.bits import BitWatch
from commission.supervise.order import Ended, MotionOrder
from commission.supervise.supervisor import Supervisor
from tests.virtual_time import VirtualLoop, virtual_clock

R = TypeVar("R")
TESS = "T. Placeholder"


class _OnlyJumps(selectors.DefaultSelector):
    """Nothing comes over a socket here, so nobody waits for one."""

    loop: "DirectLoop"

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """Jump."""
        if timeout is None:
            raise AssertionError("everything waits for ever")
        if timeout > 0:
            self.loop.jump(timeout)
        return super().select(0)


class DirectLoop(VirtualLoop):
    """An event loop without a wire."""

    def __init__(self) -> None:
        self._now_s = 1000.0
        self.real_work = []
        selector = _OnlyJumps()
        selector.loop = self
        asyncio.SelectorEventLoop.__init__(self, selector)


class DirectLedger:
    """The record, in memory."""

    def __init__(self) -> None:
        self.bodies: list[Body] = []

    def record(self, body: Body, by: str = "program") -> Pending:
        """Keep it."""
        self.bodies.append(body)
        committed: Future[bytes] = Future()
        committed.set_result(b"")
        event = Event(
            n=len(self.bodies),
            session="s",
            at_utc="2026-05-12T06:40:00+00:00",
            at_mono_ns=0,
            by=by,
            kind=kind_of(type(body)),
            v=1,
            need=False,
            body={},
        )
        return Pending(event, committed)

    def store_chunk(self, _data: bytes) -> str:
        """Samples are not kept."""
        return "0" * 64


class DirectUnit:
    """
    The unit as the supervisor sees it.

    Args:
        sheet: Its sheet.

        unit: The unit itself.

        clock: Time.
    """

    def __init__(self, sheet: Sheet, unit: PracticeUnit, clock: Clock) -> None:
        self.sheet = sheet
        self.clock = clock
        self.cycle_s = 0.05
        self.latency_s = 0.02
        self.silent: Callable[[], bool] = lambda: False
        self.each: Callable[[], None] = lambda: None
        self.writes: list[tuple[float, str]] = []
        self.slot = LeaveSlot()
        self.view = EnergyView("live", 1, frozenset({"command_open", "command_close", "command_partial_stroke"}))
        self.unit = unit
        self._device = Device(unit)
        self._guard = WriteGuard(sheet, self.slot, sheet.link.unit_id)
        self._lived_ns = clock.unit_ns()

    def catch_up(self) -> None:
        """Bring the unit to now."""
        now_ns = self.clock.unit_ns()
        self.unit.advance_ns(now_ns - self._lived_ns)
        self.unit.link_silent_s = 0.0
        self._lived_ns = now_ns

    async def plan(self, roles: tuple[str, ...]) -> ReadPlan:
        """The plan for these roles."""
        return plan_for(self.sheet, roles, bridge=Bridge.NONE)

    async def plan_around(self, roles: tuple[str, ...]) -> ReadPlan:
        """The same: nothing here looks at neighbours."""
        return plan_for(self.sheet, roles, bridge=Bridge.NONE)

    def watch(self, plan: ReadPlan) -> "DirectSource":
        """Poll it."""
        return DirectSource(self, plan)

    async def command(self, role: str, value: int) -> Written:
        """Give a command after its latency."""
        return await self._write(role, value)

    async def make_safe(self, role: str, value: int) -> Written:
        """The same."""
        return await self._write(role, value)

    def read(self, plan: ReadPlan, number: int) -> Sample:
        """One sample."""
        self.catch_up()
        at_ns = self.clock.unit_ns()
        reads = tuple(
            BlockRead(
                at_ns, 2_000_000, tuple(self._device.read(TableName(block.table.value), block.address, block.count))
            )
            for block in plan.blocks
        )
        return Sample(number, reads)

    async def _write(self, role: str, value: int) -> Written:
        point = self._guard.admit(role, value, self.view, self.clock.unit_ns())
        await asyncio.sleep(self.latency_s)
        if self.silent():
            return Written(self.clock.unit_ns(), 2_000_000, Outcome.UNANSWERED, "no answer")
        self.catch_up()
        at_ns = self.clock.unit_ns()
        self.writes.append((at_ns / NS_PER_S, role))
        try:
            self._device.write(TableName(point.table.value), self.sheet.wire_address(point), [value])
        except ModbusFault as fault:
            return Written(at_ns, 2_000_000, Outcome.REFUSED, f"the unit refused ({fault.code.name})")
        return Written(at_ns, 2_000_000, Outcome.ANSWERED)


class DirectSource:
    """Polls one plan."""

    def __init__(self, unit: DirectUnit, plan: ReadPlan) -> None:
        self._unit, self._plan, self._number = unit, plan, 0
        self._since_ns = unit.clock.unit_ns()

    async def next(self) -> SampleOrSilence:
        """The next sample, or the silence in its place."""
        await asyncio.sleep(self._unit.cycle_s)
        self._number += 1
        self._unit.catch_up()
        self._unit.each()
        if self._unit.silent():
            return Silence(self._number, self._since_ns, self._unit.clock.unit_ns(), "no answer")
        sample = self._unit.read(self._plan, self._number)
        self._since_ns = sample.at_ns
        return sample


class DirectSite:
    """One unit, its supervisor, the people beside it, and what was recorded."""

    def __init__(self, sheet: Sheet, condition: Condition, start: End, seed: int) -> None:
        self.sheet = sheet
        self.clock = virtual_clock()
        self.unit = DirectUnit(sheet, PracticeUnit(sheet, condition=condition, start=start, seed=seed), self.clock)
        self.desk = SiteDesk(self.unit.unit, self.unit.catch_up)
        self.ledger = DirectLedger()
        self.supervisor = Supervisor(
            self.unit, self.ledger, self, self.unit.slot, self._leave_for, BitWatch(self.ledger)
        )

    async def ask(self, question: Ask) -> Answer:
        """Nobody is there."""
        raise AssertionError(question)

    async def run(self, procedure: Procedure[R], name: str = "partial_stroke") -> Ended[R]:
        """Run a procedure to its end."""
        order = MotionOrder(run="r1", step="L2", procedure=name, arguments={}, by=TESS)
        return await self.supervisor.run(procedure, order)

    def truth(self) -> Truth:
        """The true state of the unit now."""
        return msgspec.convert(self.desk.read("truth"), Truth)

    def recorded(self, kind: type[Body]) -> list[Any]:
        """What was recorded of one kind."""
        return [body for body in self.ledger.bodies if isinstance(body, kind)]

    def _leave_for(self, begin: Begin, order: MotionOrder) -> Leave:
        commands = (*begin.commands, *(() if begin.safe_command is None else (begin.safe_command,)))
        values: dict[str, tuple[int, ...]] = {command.role: (command.value,) for command in commands}
        until_ns = self.clock.unit_ns() + round((begin.longest_s + 60) * NS_PER_S)
        returns = () if begin.safe_command is None else (begin.safe_command.role,)
        return Leave(begin.test, values, until_ns, self.unit.view.generation, order.by, returns)


def directly(main: Coroutine[Any, Any, R]) -> R:
    """Run a coroutine to its end in a loop without a wire."""
    with asyncio.Runner(loop_factory=DirectLoop) as runner:
        return runner.run(main)


def made_directly(
    sheet: Sheet,
    procedure: Callable[["DirectSite"], Procedure[R]],
    *,
    condition: Condition = HEALTHY,
    start: End = End.OPEN,
    seed: int = 0,
    prepare: Callable[["DirectSite"], None] = lambda _site: None,
) -> "tuple[Ended[R], DirectSite]":
    """One run of a procedure on a fresh unit."""

    async def main() -> tuple[Ended[R], DirectSite]:
        site = DirectSite(sheet, condition, start, seed)
        prepare(site)
        return await site.run(procedure(site)), site

    return directly(main())

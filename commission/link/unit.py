"""
The link to one unit, as the supervisor and the screens see it.

    link = await UnitLink.connect(parse_url(text), sheet, clock, leave)
    plan = await link.plan(roles)            fewest requests, tried once at the unit
    async for sample in link.sampler(plan):  each Sample or Silence, none skipped
    await link.write(role, value, view)      through the write guard, once
    await link.make_safe(role, value)        ahead of everything

One `UnitLink` holds one line. Several tasks may use it: the line takes turns.
"""

import random
from collections.abc import Iterable

from commission.clock import Clock
from commission.leave import LeaveSlot
from commission.link.contact import Contact
from commission.link.encode import words_of
from commission.link.faults import ILLEGAL_ADDRESS, NotConnected, PlanError, UnitRefused, explain
from commission.link.health import Health
from commission.link.lanes import Lane
from commission.link.line import Line
from commission.link.meeting import LinkFacts, meet
from commission.link.plan import Bridge, joined, plan_beside, plan_for
from commission.link.sampling import Sampler
from commission.link.url import Address
from commission.link.write_guard import EnergyView, WriteGuard
from commission.sample import ReadPlan, Sample, Written
from commission.sheet import Sheet, WriteClass
from commission.sheet.decode import Decoder, Readings, block_of

_ANY_STATE = EnergyView("unknown", -1)
"""A view that allows nothing but a stop."""


_HURRIED_UNIT_S = 0.25
"""What a practice unit that runs ahead of time is given for an answer, in wire time; the longest of a real one."""


class UnitLink:
    """
    An open link; made by `connect`.

    Attributes:
        facts: What was found at connect.

        health: Counts, latencies, ages.

        sheet: The unit's sheet.
    """

    def __init__(
        self, line: Line, sheet: Sheet, facts: LinkFacts, leave: LeaveSlot, draw: random.Random | None
    ) -> None:
        self.facts = facts
        self.health = line.health
        self.sheet = sheet
        self._line = line
        self._guard = WriteGuard(sheet, leave, facts.unit_id)
        self._contact = Contact(line, sheet, facts.practice, leave, draw)

    @classmethod
    async def connect(
        cls,
        address: Address,
        sheet: Sheet,
        clock: Clock,
        leave: LeaveSlot | None = None,
        draw: random.Random | None = None,
    ) -> "UnitLink":
        """
        Open the line and make the unit's acquaintance (`meeting.meet`); unit time takes a practice unit's speed.

        Args:
            address: From `parse_url`.

            sheet: The unit's sheet.

            clock: The session's clock.

            leave: The session's slot of leave; without one no motion can be written.

            draw: Where the practice challenge comes from; the system's randomness if None.

        Raises:
            NotConnected: no link reads this unit.

            WireFault: not reached, not the right unit, only an echo; the line is closed again.
        """
        if not sheet.linked:
            raise NotConnected(f"no link reads {sheet.identity.tag}: eyes, a meter and keys. Nothing was sent")
        line = Line(address, sheet.link, clock, Health(clock.unit_ns()))
        await line.connect()
        try:
            facts = await meet(line, sheet, address.text, draw)
        except BaseException:
            await line.close()
            raise
        return cls(line, sheet, facts, leave or LeaveSlot(), draw)

    @property
    def connected(self) -> bool:
        """Whether the port or socket is open and the unit behind it has proved to be the one of before."""
        return self._contact.up

    @property
    def sample_timeout_s(self) -> float:
        """
        Longest wait for one answer while polling, in wire time; a slow unit gets half as much again as it needs.

        A practice unit that runs ahead of time shares this laptop with everything else on it: where it answers late, a
        late reading says more than a silence, which costs many seconds of its time.
        """
        practice = self.facts.practice
        hurried = practice is not None and practice.speed > 1 and not self._line.rtu
        return max(self.facts.test_timeout_s, 1.5 * self.facts.round_trip.p99_s, _HURRIED_UNIT_S if hurried else 0.0)

    def make_safe_within_s(self, plan: ReadPlan) -> float:
        """Longest time until a make-safe write has reached the unit while this plan is polled, in wire time (R11)."""
        return self._line.make_safe_s(plan.blocks)

    async def plan(self, roles: Iterable[str]) -> ReadPlan:
        """
        The quickest plan for these roles that the unit takes: each is tried once, the one with most bridged gaps first.

        Raises:
            PlanError: the sheet has no such point, or it is not to be polled.

            UnitRefused: the unit has no such address; the text names the point and asks how the list counts.

            WireFault: any other of its kinds.
        """
        wanted = tuple(roles)
        plans = [plan_for(self.sheet, wanted, self.facts.unit_id, bridge=bridge) for bridge in Bridge]
        for plan in plans:
            try:
                await self._sample(plan)
            except UnitRefused as refusal:
                if refusal.code != ILLEGAL_ADDRESS or plan == plans[-1]:
                    raise
            else:
                break
        return plan

    async def plan_around(self, roles: Iterable[str]) -> ReadPlan:
        """
        A plan that reads these roles and the address beside each on either side, as far as the unit answers there.

        Each address is tried once by itself: a map that is off by one asks for addresses that the unit has not got, and
        its other points must still be seen.

        Raises:
            PlanError: the sheet has no such point, it is not to be polled, or the unit answers at none of them.

            WireFault: any other than a refusal.
        """
        single = plan_beside(self.sheet, roles, self.facts.unit_id)
        answering = []
        for block in single.blocks:
            try:
                await self._sample(ReadPlan(single.unit_id, (block,)))
            except UnitRefused:
                continue
            answering.append(block)
        if not answering:
            raise PlanError("the unit answers at none of the addresses that the sheet gives")
        return ReadPlan(single.unit_id, joined(answering))

    def sampler(self, plan: ReadPlan, period_s: float | None = None) -> Sampler:
        """Polls a plan, as fast as the line allows or every `period_s` of unit time; reconnects by itself."""
        return Sampler(self._line, self.sheet, plan, self._contact.ready, period_s, self.sample_timeout_s)

    async def read(self, roles: Iterable[str]) -> Readings:
        """
        The readings of these roles, once.

        Raises:
            PlanError, WireFault: as for `plan`.
        """
        plan = plan_for(self.sheet, roles, self.facts.unit_id, bridge=Bridge.NONE)
        return Decoder(self.sheet, plan).decode(await self._sample(plan))

    def write_refusal(self, role: str, value: float, view: EnergyView) -> str | None:
        """Why `write` would refuse now, or None."""
        return self._guard.refusal(role, value, view, self._line.clock.unit_ns())

    async def write(self, role: str, value: float, view: EnergyView) -> Written:
        """
        Write a command or setting once, if the guard admits it.

        Args:
            role: Role of the point.

            value: Raw, as on the wire (`encode.raw_of` makes it from the role's unit).

            view: The energy state at this moment.

        Returns:
            What came back; *unanswered* may have been received. It is never sent again by itself.

        Raises:
            WriteRefused: the guard said no; nothing was sent.

            NotConnected: nothing was sent.
        """
        return await self._write(role, value, view, Lane.COMMAND)

    async def make_safe(self, role: str, value: int, view: EnergyView = _ANY_STATE) -> Written:
        """
        Send the safe end once, ahead of everything, within `facts.make_safe_s`; repeating it is the caller's task.

        A stop needs no view. A `return` is a motion: its leave must still name it.

        Raises:
            WriteRefused: the guard said no; nothing was sent.

            NotConnected: nothing was sent; the sampler or `reconnect` opens the line again.
        """
        return await self._write(role, value, view, Lane.MAKE_SAFE)

    async def confirm(self, role: str, value: int) -> bool:
        """
        Read a written point back, after the quiet time, so that no late answer can stand in for it.

        Even True only says that the unit holds the value, not that it acts on it; a command that the unit clears by
        itself reads back False.

        Raises:
            WireFault: it could not be read.
        """
        point = self.sheet.point(role)
        if point is None:
            return False
        read = await self._sample(ReadPlan(self.facts.unit_id, (block_of(self.sheet, point),)), Lane.COMMAND)
        return read.reads[0].words == words_of(self.sheet, point, value)

    async def reconnect(self) -> None:
        """
        Open the line again and prove that the same unit answers, practice or not (safety rule R15).

        Until then nothing is read or written.

        Raises:
            NotConnected: it cannot be opened.

            WrongUnit: another unit answers, or a practice unit where there was none, or the reverse. The line is closed
                again and leave is withdrawn.
        """
        await self._contact.restore()

    async def close(self) -> None:
        """Close the line; what that does to the unit is the sheet's `lost_contact` to say (safety rule R16)."""
        await self._contact.close()
        await self._line.close()

    async def _sample(self, plan: ReadPlan, lane: Lane = Lane.READ) -> Sample:
        self._contact.demand()
        try:
            return Sample(0, tuple([await self._line.read(block, lane) for block in plan.blocks]))
        except UnitRefused as refusal:
            refusal.args = (explain(self.sheet, refusal),)
            raise

    async def _write(self, role: str, value: float, view: EnergyView, lane: Lane) -> Written:
        point = self._guard.admit(role, value, view, self._line.clock.unit_ns())
        if lane is Lane.MAKE_SAFE and point.write not in (WriteClass.STOP, WriteClass.MOTION):
            raise ValueError(f"{role} makes nothing safe")
        words = words_of(self.sheet, point, value)
        self._contact.demand()
        return await self._line.write(point.table, self.sheet.wire_address(point), words, lane)

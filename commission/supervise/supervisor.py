"""
The loop that performs a procedure.

One motion at a time. The safe end belongs to the supervisor from `Begin` on; it is entered on success, failure, stop,
error and lost link alike, because it stands where the loop is left, not in the procedures.
"""

import asyncio
from collections.abc import Callable
from typing import TypeVar

from commission.job.bodies import (
    LeaveGiven,
    LeaveWithdrawn,
)
from commission.leave import Leave, LeaveSlot
from commission.link.faults import LinkError
from commission.procedures.requests import (
    Ask,
    Begin,
    Command,
    Dwell,
    Note,
    Procedure,
    Reply,
    Request,
    Watch,
)
from commission.sample import ReadPlan
from commission.supervise.motion import Motion
from commission.supervise.order import Aborted, Ended, MotionOrder, MotionRefused, MotionView, StopRequested
from commission.supervise.surroundings import Ledger, People, Unit

R = TypeVar("R")


class Supervisor:
    """
    Performs procedures for one unit.

    Args:
        unit: The unit.

        ledger: The record.

        people: Who answers questions.

        slot: The leave slot that the write guard reads.

        leave_for: Gives leave for what a procedure begins, or raises MotionRefused.
    """

    def __init__(
        self,
        unit: Unit,
        ledger: Ledger,
        people: People,
        slot: LeaveSlot,
        leave_for: Callable[[Begin, MotionOrder], Leave],
    ) -> None:
        self._unit = unit
        self._ledger = ledger
        self._people = people
        self._slot = slot
        self._leave_for = leave_for
        self._motion: Motion | None = None

    @property
    def view(self) -> MotionView | None:
        """The open motion as a screen shows it, or None."""
        return None if self._motion is None else self._motion.view

    @property
    def begun(self) -> Begin | None:
        """What the open motion began with, or None."""
        return None if self._motion is None else self._motion.begin

    def stop(self, by: str, reason: str) -> bool:
        """Stop the open motion; whether there was one. Taken at once, and harmless when repeated."""
        if self._motion is None:
            return False
        self._motion.request_stop(by, reason)
        return True

    async def idle(self) -> None:
        """Wait until no motion is open."""
        while self._motion is not None:
            await self._motion.over.wait()

    async def run(self, procedure: Procedure[R], order: MotionOrder) -> Ended[R]:
        """
        Perform a procedure to its end.

        Raises:
            MotionRefused: it may not begin; nothing was sent.
        """
        if self._motion is not None:
            raise MotionRefused(f"{self._motion.view.test} is still in motion; one at a time")
        begin = next(procedure)
        if not isinstance(begin, Begin):
            raise TypeError(f"{order.procedure} begins with {type(begin).__name__}, not with Begin")
        leave = self._leave_for(begin, order)
        plan = await self._plan(begin)
        if self._motion is not None:
            raise MotionRefused(f"{self._motion.view.test} is still in motion; one at a time")
        motion = Motion(self._unit, self._ledger, self._people, plan, begin, order)
        self._motion = motion
        try:
            self._slot.grant(leave)
            self._ledger.record(LeaveGiven(test=leave.test, values=leave.values, until_ns=leave.until_ns), order.by)
            return await self._perform(procedure, motion)
        finally:
            withdrawn = self._slot.withdraw(f"{begin.test} has ended")
            if withdrawn is not None:
                self._ledger.record(LeaveWithdrawn(test=withdrawn.test, reason="the test has ended"))
            self._motion = None
            motion.over.set()

    async def _plan(self, begin: Begin) -> ReadPlan:
        try:
            return await self._unit.plan(begin.roles)
        except LinkError as error:
            raise MotionRefused(f"what {begin.test} needs to see cannot be read: {error}") from error

    async def _perform(self, procedure: Procedure[R], motion: Motion) -> Ended[R]:
        await motion.commit_beginning()
        how, reason, observed = "aborted", "", None
        try:
            observed = await _drive(procedure, motion)
            how = "finished"
        except StopRequested as stop:
            how, reason = "stopped", str(stop)
        except Aborted as abort:
            reason = str(abort)
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is not None:
                task.uncancel()
            how, reason = "stopped", "the program was told to end"
        except Exception as error:  # noqa: BLE001  # whatever went wrong in here, the valve comes first
            reason = f"the program failed: {error}"
        finally:
            procedure.close()
        if motion.taken_over:
            self._slot.withdraw(motion.taken_over)
        safe_end = await motion.end(how)
        return await motion.commit_ending(how, reason, safe_end, observed)


async def _drive(procedure: Procedure[R], motion: Motion) -> R:
    """Give the procedure its replies until it returns."""
    reply: Reply = None
    while True:
        try:
            request = procedure.send(reply)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]  # StopIteration carries the generator's R
        reply = await _reply_to(request, motion)


async def _reply_to(request: Request, motion: Motion) -> Reply:
    match request:
        case Watch():
            return await motion.next_item()
        case Command():
            return await motion.command(request)
        case Ask():
            return await motion.ask(request)
        case Dwell(seconds=seconds):
            return await motion.dwell(seconds)
        case Note(mark=mark):
            motion.note(mark)
            return None
        case Begin():
            raise Aborted("the procedure began twice")

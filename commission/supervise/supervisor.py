"""
The loop that performs a procedure.

One motion at a time. The safe end belongs to the supervisor from `Begin` on; it is entered on success, failure, stop,
error and lost link alike, because it stands where the loop is left, not in the procedures.
"""

import asyncio
import contextlib
from collections.abc import Callable, Coroutine
from typing import Any, TypeVar

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
from commission.supervise.bits import BitWatch
from commission.supervise.motion import Motion
from commission.supervise.order import Aborted, Ended, MotionOrder, MotionRefused, MotionView, StopRequested
from commission.supervise.passing import AtUnit, Passing
from commission.supervise.pauses import short_pauses
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

        bits: What the unit's bits were when somebody else read them last.
    """

    def __init__(
        self,
        unit: Unit,
        ledger: Ledger,
        people: People,
        slot: LeaveSlot,
        leave_for: Callable[[Begin, MotionOrder], Leave],
        bits: BitWatch,
    ) -> None:
        self._unit = unit
        self._ledger = ledger
        self._people = people
        self._slot = slot
        self._leave_for = leave_for
        self._bits = bits
        self._motion: Motion | None = None
        self._preparing = ""
        self._stopped_early = ""
        self._said: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """What the open motion, or the last one, has told the people at the valve: its last word outlives it."""
        return self._said if self._motion is None else self._motion.view.said

    @property
    def view(self) -> MotionView | None:
        """The open motion as a screen shows it, or None."""
        return None if self._motion is None else self._motion.view

    @property
    def begun(self) -> Begin | None:
        """What the open motion began with, or None."""
        return None if self._motion is None else self._motion.begin

    @property
    def busy(self) -> bool:
        """Whether a motion is open, or about to be."""
        return self._motion is not None or bool(self._preparing)

    def stop(self, by: str, reason: str, *, returning: bool = False) -> bool:
        """
        Stop the open motion; whether there was one. Taken at once, and harmless when repeated.

        Args:
            by: Who.

            reason: Why.

            returning: Bring the valve back rather than stop it, where the two differ.
        """
        if self._motion is not None:
            self._motion.request_stop(by, reason, returning=returning)
        elif self._preparing:
            self._stopped_early = f"{reason}, by {by}"
        return self.busy

    def let_pass(self, seconds: float, at_unit: AtUnit) -> Passing | None:
        """Skip unit time in the open motion, a minute at a time; None where none is open, or it is being done."""
        return None if self._motion is None else self._motion.let_pass(seconds, at_unit)

    async def sampled(self) -> None:
        """Wait until the open motion has taken its next sample; not long where none comes, nor where none is open."""
        if self._motion is not None:
            await self._motion.sampled()

    async def idle(self) -> None:
        """Wait until no motion is open."""
        while self._motion is not None:
            await self._motion.over.wait()

    async def run(self, procedure: Procedure[R], order: MotionOrder) -> Ended[R]:
        """
        Perform a procedure to its end.

        Raises:
            MotionRefused: it may not begin; nothing was sent.

            RecordError: the end of it could not be recorded; the safe end was carried out.
        """
        if self.busy:
            open_test = self._preparing or (self._motion and self._motion.view.test)
            raise MotionRefused(f"{open_test} is still in motion; one at a time")
        self._preparing, self._stopped_early, self._said = order.procedure, "", ()
        try:
            motion, leave = await self._prepared(procedure, order)
        except BaseException:
            procedure.close()
            raise
        finally:
            self._preparing = ""
        self._motion = motion
        try:
            self._ledger.record(LeaveGiven(test=leave.test, values=leave.values, until_ns=leave.until_ns), order.by)
            with short_pauses():
                return await self._perform(procedure, motion)
        finally:
            self._motion, self._said = None, motion.view.said
            motion.over.set()
            if self._slot.current is not None:
                self._slot.withdraw(f"{leave.test} has ended")
            self._ledger.record(LeaveWithdrawn(test=leave.test, reason=self._slot.why_empty))

    async def _prepared(self, procedure: Procedure[R], order: MotionOrder) -> tuple[Motion, Leave]:
        """The motion about to begin, with its leave in the slot."""
        try:
            begin = next(procedure)
        except (ValueError, LookupError) as error:
            raise MotionRefused(f"{order.procedure} cannot be run on this unit: {error}") from error
        if not isinstance(begin, Begin):
            raise TypeError(f"{order.procedure} begins with {type(begin).__name__}, not with Begin")
        self._preparing = begin.test
        self._leave_for(begin, order)  # where there is none, nothing is even read
        try:
            plan = await (self._unit.plan_around(begin.roles) if begin.neighbours else self._unit.plan(begin.roles))
        except LinkError as error:
            raise MotionRefused(f"what {begin.test} needs to see cannot be read: {error}") from error
        if self._stopped_early:
            raise MotionRefused(f"stopped before it began: {self._stopped_early}")
        leave = self._leave_for(begin, order)  # anew: what it rests on may have changed while the plan was tried
        try:
            self._slot.grant(leave)
        except RuntimeError as error:
            raise MotionRefused(str(error)) from error
        withdraw, has_leave = self._withdraw, self._has_leave
        motion = Motion(self._unit, self._ledger, self._people, plan, begin, order, withdraw, self._bits, has_leave)
        return motion, leave

    async def _perform(self, procedure: Procedure[R], motion: Motion) -> Ended[R]:
        how, reason, observed = "aborted", "", None
        try:
            await motion.commit_beginning()
            observed = await _drive(procedure, motion)
            how = "finished"
        except StopRequested as stop:
            how, reason = "stopped", str(stop)
        except Aborted as abort:
            reason = str(abort)
        except asyncio.CancelledError:
            _stay()
            motion.request_stop("program", "the program was told to end")
            how, reason = "stopped", "the program was told to end"
        except Exception as error:  # whatever went wrong in here, the valve comes first
            reason = f"the program failed: {error}"
            if not motion.begun:
                raise MotionRefused(f"its beginning cannot be recorded: {error}") from error
        with contextlib.suppress(
            Exception
        ):  # a generator that will not close must not keep the valve from its safe end
            procedure.close()
        if not motion.begun:
            raise MotionRefused(reason)
        return await _to_its_end(motion, motion.end(how, reason, observed))

    def _withdraw(self, reason: str) -> None:
        self._slot.withdraw(reason)

    def _has_leave(self) -> bool:
        return self._slot.current is not None


async def _to_its_end(motion: Motion, ending: Coroutine[Any, Any, Ended[R]]) -> Ended[R]:
    """Whoever cancels us meanwhile waits: the safe end is not cancelled."""
    task = asyncio.ensure_future(ending)
    while True:
        try:
            return await asyncio.shield(task)
        except asyncio.CancelledError:
            if task.done():
                raise
            _stay()
            motion.request_stop("program", "the program was told to end")


def _stay() -> None:
    task = asyncio.current_task()
    if task is not None:
        task.uncancel()


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
        case Watch(asking=question):
            return await motion.watch(question)
        case Command():
            return await motion.command(request)
        case Ask():
            return await motion.ask(request)
        case Dwell(seconds=seconds):
            return await motion.dwell(seconds)
        case Note(mark=mark, loud=loud):
            motion.note(mark, loud=loud)
            return None
        case Begin():
            raise Aborted("the procedure began twice")

"""
A visit as both faces use it: the open job, the line, and what moves the valve.

What moves the valve goes through `perform`, in a task that no face owns; `stop` works always.
"""

import asyncio
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import msgspec

from commission.checklist import ProcedureUse, Step
from commission.clock import Clock
from commission.content import Text
from commission.figure import Verdict
from commission.job.bodies import Body, EnergyLost, LeaveWithdrawn
from commission.job.state import Job
from commission.job.verdicts import RunMade, points_of, verdict_of
from commission.leave import Leave, LeaveSlot
from commission.link.unit import UnitLink
from commission.link.write_guard import EnergyView
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.requests import Begin
from commission.quantity import get_ready
from commission.record.event import Event
from commission.record.writer import Pending
from commission.sheet.decode import Readings
from commission.supervise.background import Latest
from commission.supervise.linked_unit import LinkedUnit
from commission.supervise.order import Ended, MotionOrder, MotionRefused
from commission.supervise.prepare import order_for
from commission.supervise.safe_end import SafeEndSeen
from commission.supervise.supervisor import Supervisor
from commission.supervise.surroundings import People
from commission.visit.connection import Connection
from commission.visit.open_job import OpenJob, VisitError
from commission.walk import acts
from commission.walk.leave_rules import LeaveRefused, leave_for


class Visit:
    """
    One visit to one unit.

    Args:
        book: The open job.

        people: Who answers a procedure's questions.
    """

    def __init__(self, book: OpenJob, people: People) -> None:
        self._book = book
        self._people = people
        self._slot = LeaveSlot()
        self._connection = Connection(book, self._slot, lambda: self.in_motion)
        self._supervisor: Supervisor | None = None
        self._running: asyncio.Task[Ended[Any]] | None = None
        self._closed = False
        book.on_energy(lambda: self._withdraw_leave("the energy state has changed"))

    @classmethod
    def begin(
        cls, path: Path, sheet: Text, checklist: tuple[Text, ...], clock: Clock, people: People, by: str
    ) -> "Visit":
        """Create a job file and open it; raises as `OpenJob.begin` does."""
        return cls(OpenJob.begin(path, sheet, checklist, clock, by), people)

    @classmethod
    def resume(cls, path: Path, clock: Clock, people: People) -> "Visit":
        """Open a job file again; raises as `OpenJob.resume` does."""
        return cls(OpenJob.resume(path, clock), people)

    @property
    def job(self) -> Job:
        """Where the visit stands."""
        return self._book.job

    @property
    def clock(self) -> Clock:
        """The session's clocks."""
        return self._book.clock

    @property
    def path(self) -> Path:
        """The job file."""
        return self._book.path

    @property
    def link(self) -> UnitLink | None:
        """The line to the unit, where there is one."""
        return self._connection.link

    @property
    def supervisor(self) -> Supervisor | None:
        """What runs the motions, where there is a line."""
        return self._supervisor

    @property
    def latest(self) -> Latest | None:
        """The newest reading of all points, where the background reads."""
        return self._connection.latest

    @property
    def in_motion(self) -> bool:
        """Whether a motion is open, or about to be."""
        return self._supervisor is not None and self._supervisor.busy

    def on_event(self, listener: Callable[[Event], None]) -> None:
        """Tell somebody of each event after it was folded."""
        self._book.on_event(listener)

    def record(self, body: Body, by: str = "program") -> Pending:
        """Try an event on the job, append it, and fold it; raises as `OpenJob.record` does."""
        return self._book.record(body, by)

    def record_all(self, bodies: Iterable[Body], by: str) -> None:
        """Record several events in order; raises as `OpenJob.record` does, those before the illegal one stand."""
        self._book.record_all(bodies, by)

    def checkpoint(self) -> None:
        """Make the job file whole in itself, as at each step's end."""
        self._book.checkpoint()

    async def connect(self, url: str, *, other_master: str, agreed_by: str, by: str) -> UnitLink:
        """
        Open the line to the unit (safety rule R16); raises as `Connection.open` does.

        Raises:
            VisitError: a motion is open.
        """
        if self.in_motion:
            raise VisitError("the valve is in motion: a line is not changed now")
        self._supervisor = None
        get_ready()  # half a second that no guard may ever wait for in a motion
        link = await self._connection.open(url, other_master=other_master, agreed_by=agreed_by, by=by)
        self._supervisor = Supervisor(
            LinkedUnit(link, self.clock, self.energy_view),
            self._book,
            self._people,
            self._slot,
            self._leave_for,
            self._connection.bits,
        )
        return link

    def keep_reading(self) -> None:
        """Read all points beside the walk from now on, over each line, for the screens and the record."""
        self._connection.keep_reading()

    async def send_stop(self, by: str) -> bool:
        """Send STOP although no motion is open from here (safety rule R8); whether it could be put on the wire."""
        return await self._connection.send_stop(by)

    async def disconnect(self, by: str) -> None:
        """
        Close the line; what the unit does then is the sheet's to say (safety rule R16).

        Raises:
            VisitError: a motion is open.
        """
        if self.in_motion:
            raise VisitError("the valve is in motion: the line stays open until it has ended")
        self._supervisor = None
        await self._connection.close(by)

    async def read(self, roles: Iterable[str]) -> Readings:
        """Readings of these roles, once; raises as `Connection.read` does."""
        return await self._connection.read(roles)

    async def answers_again(self) -> bool:
        """Whether the unit answers now; contact back or lost is recorded."""
        return await self._connection.answers_again()

    def energy_view(self) -> EnergyView:
        """The energy state as the write guard needs it."""
        return self._connection.energy_view()

    async def perform(self, step: Step, use: ProcedureUse, by: str) -> Ended[Any]:
        """
        Run a step's procedure, compute and judge its figures; all of it is durable when this returns.

        Raises:
            MotionRefused: it may not begin; nothing was sent.

            VisitError: there is no line.

            RecordError: the disk did not take it; the safe end was carried out.
        """
        supervisor, link = self._supervisor, self.link
        if supervisor is None or link is None:
            raise VisitError("there is no line to the unit")
        if supervisor.busy:
            raise MotionRefused("another test is still in motion; one at a time")
        try:
            order = await order_for(self.job, step, use, by, link, self.read, self.clock)
        except (ValueError, LookupError) as error:
            raise MotionRefused(f"{use.name} cannot be run: {error}") from error
        name = order.arguments["test"]
        running = asyncio.get_running_loop().create_task(self._run(supervisor, order, name))
        self._running = running
        return await asyncio.shield(running)

    async def _run(self, supervisor: Supervisor, order: MotionOrder, name: str) -> Ended[Any]:
        try:
            procedure = CATALOGUE[order.procedure].start(self.job.sheet, order.arguments)
        except (ValueError, LookupError) as error:
            raise MotionRefused(f"{order.procedure} cannot be run: {error}") from error
        try:
            ended: Ended[Any] = await supervisor.run(procedure, order)
        except (MotionRefused, LeaveRefused) as refused:
            self.record(LeaveWithdrawn(test=name, reason=f"not begun: {refused}"))  # and the go for it is used up
            raise
        await self._conclude(order, ended, name)
        if ended.safe_end.seen is SafeEndSeen.UNCONFIRMED and not self._closed:
            await self.answers_again()  # what cannot be seen is said before anything else is asked
        return ended

    def stop(self, by: str, reason: str, *, returning: bool = False) -> bool:
        """Stop the open motion, or bring the valve back where that is another thing; whether there was one."""
        return self._supervisor is not None and self._supervisor.stop(by, reason, returning=returning)

    def gas_alarm(self, by: str) -> None:
        """Stop if that removes motion, record, and treat the energy state as unknown (safety rule R7)."""
        self.stop(by, acts.GAS_ALARM)
        self.record_all(acts.gas_alarm(self.job), by)

    def was_away(self, lost_s: float) -> None:
        """The program was not awake for so long: a stop, and the energy state is unknown."""
        if self._closed:
            return
        reason = f"the program was not awake for {lost_s:.0f} s"
        self.stop("program", reason)
        self.record(EnergyLost(reason=reason))

    async def close(self, reason: str) -> None:
        """End the session: stop what moves, wait for its safe end, close line and file. Closing twice is harmless."""
        if self._closed:
            return
        self._closed = True
        self.stop("program", reason)
        if self._running is not None:
            await asyncio.wait({self._running})
        await self.disconnect("program")
        self._book.close(reason)

    async def _conclude(self, order: MotionOrder, ended: Ended[Any], name: str) -> None:
        tripped = self.job.runs[order.run].tripped
        made = RunMade(
            run=order.run,
            step=order.step,
            test=name,
            procedure=order.procedure,
            arguments=order.arguments,
            how=ended.how,
            reason=ended.reason,
            guard="" if tripped is None else tripped.guard,
        )
        try:
            computed, result = verdict_of(made, ended.observed, self.job.sheet)
            proved = points_of(made, ended.observed)
        except Exception as error:  # noqa: BLE001  # the run was made and is kept; its figures can be computed later
            computed, result = verdict_of(made, None, self.job.sheet)
            proved = None
            why = f"its figures could not be computed: {error}"
            result = msgspec.structs.replace(result, verdict=Verdict.VOID, rule=why)
        if computed is not None:
            self.record(computed)
        if proved is not None:
            self.record(proved)
        await self.record(result).durable()
        self.checkpoint()

    def _leave_for(self, begin: Begin, order: MotionOrder) -> Leave:
        try:
            return leave_for(self.job, begin, order, self.clock)
        except LeaveRefused as refused:
            raise MotionRefused(str(refused)) from refused

    def _withdraw_leave(self, reason: str) -> None:
        leave = self._slot.withdraw(reason)
        if leave is not None:
            self.record(LeaveWithdrawn(test=leave.test, reason=reason))

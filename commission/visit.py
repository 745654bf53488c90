"""
One visit to one unit: record, job, walk, link and supervisor put together. Both faces call this and nothing below it.

A `Visit` is opened on a job file. Everything that happens goes through `record`, which tries the event on the job
before it is written, so that an illegal act changes nothing. What moves the valve goes through `perform`, in a task
that no face owns; `stop` works always.
"""

import asyncio
import secrets
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import msgspec

import commission
from commission import energy
from commission.checklist import ProcedureUse, Step, parse_checklist
from commission.clock import Clock
from commission.content import Text
from commission.figure import Verdict
from commission.job.bodies import (
    Body,
    CommandSent,
    Connected,
    ContactBack,
    ContactLost,
    Disconnected,
    EnergyLost,
    JobOpened,
    LeaveWithdrawn,
    SessionEnded,
    SessionStarted,
    kind_of,
)
from commission.job.state import Job, JobError, fold, needed, opened
from commission.job.verdicts import RunMade, verdict_of
from commission.leave import Leave, LeaveSlot
from commission.link.faults import LinkError, LocalFault, UnitRefused
from commission.link.ports import demand_quiet
from commission.link.unit import UnitLink
from commission.link.url import parse_url
from commission.link.write_guard import EnergyView
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.requests import Begin
from commission.record.event import Event
from commission.record.reader import Reader
from commission.record.writer import Pending, Recorder
from commission.sample import Outcome, Written
from commission.sheet import parse_sheet
from commission.sheet.decode import Readings
from commission.supervise.background import Background, Latest
from commission.supervise.linked_unit import LinkedUnit
from commission.supervise.order import Ended, MotionOrder, MotionRefused
from commission.supervise.safe_end import SafeEndSeen
from commission.supervise.supervisor import Supervisor
from commission.supervise.surroundings import People
from commission.walk import acts
from commission.walk.leave_rules import LeaveRefused, leave_for
from commission.walk.movement import next_test
from commission.walk.readiness import proved_commands


class VisitError(Exception):
    """Something that cannot be done now, in words for the person who asked."""


class Visit:
    """
    An open job.

    Args:
        recorder: Writes the job file.

        job: Where the visit stands.

        clock: The session's clocks.

        people: Who answers a procedure's questions.
    """

    def __init__(self, recorder: Recorder, job: Job, clock: Clock, people: People) -> None:
        self.job = job
        self.clock = clock
        self._recorder = recorder
        self._people = people
        self._slot = LeaveSlot()
        self._link: UnitLink | None = None
        self._supervisor: Supervisor | None = None
        self._running: asyncio.Task[Ended[Any]] | None = None
        self._listeners: list[Callable[[Event], None]] = []
        self._closed = False
        self._background: Background | None = None
        self._reading: asyncio.Task[None] | None = None
        self._keeps_reading = False

    @classmethod
    def begin(
        cls, path: Path, sheet: Text, checklist: tuple[Text, ...], clock: Clock, people: People, by: str
    ) -> "Visit":
        """
        Create a job file and open it.

        Raises:
            ContentError: sheet or checklist cannot be used.

            RecordError: the file cannot be made.
        """
        tag = parse_sheet(sheet).identity.tag
        parse_checklist(checklist)  # before there is a file that nobody could open
        recorder = Recorder(path, session=_session(), clock=clock, new=True)
        body = JobOpened(tag=tag, sheet=sheet, checklist=checklist, program_version=commission.__version__)
        first = _append(recorder, body, by)
        visit = cls(recorder, opened(first.event), clock, people)
        visit.record(SessionStarted(program_version=commission.__version__, resumed=False))
        return visit

    @classmethod
    def resume(cls, path: Path, clock: Clock, people: People) -> "Visit":
        """
        Open a job file again; the energy state is unknown until it is proved anew.

        Raises:
            RecordError: it cannot be read or written, or another writer holds it.

            JobError: it is not a job.

            VisitError: it holds what this program does not know and must.
        """
        recorder = Recorder(path, session=_session(), clock=clock)  # first, so that nobody adds to what is read
        try:
            job = _writable_job(path)
        except BaseException:
            recorder.close()
            raise
        visit = cls(recorder, job, clock, people)
        visit.record(SessionStarted(program_version=commission.__version__, resumed=True))
        return visit

    @property
    def path(self) -> Path:
        """The job file."""
        return self._recorder.path

    @property
    def link(self) -> UnitLink | None:
        """The line to the unit, where there is one."""
        return self._link

    @property
    def supervisor(self) -> Supervisor | None:
        """What runs the motions, where there is a line."""
        return self._supervisor

    @property
    def latest(self) -> Latest | None:
        """The newest reading of all points, where the background reads."""
        return None if self._background is None else self._background.latest

    @property
    def in_motion(self) -> bool:
        """Whether a motion is open, or about to be."""
        return self._supervisor is not None and self._supervisor.busy

    def on_event(self, listener: Callable[[Event], None]) -> None:
        """Tell somebody of each event after it was folded."""
        self._listeners.append(listener)

    def record(self, body: Body, by: str = "program") -> Pending:
        """
        Try an event on the job, append it, and fold it.

        Raises:
            EnergyError, ValueError, LookupError: it is not legal now; nothing was written.
        """
        generation = self.job.energy_log.now.generation
        self.job.after(self._trial(body, by))
        pending = _append(self._recorder, body, by)
        self.job = self.job.after(pending.event)
        if self.job.energy_log.now.generation != generation:
            self._withdraw_leave("the energy state has changed")
        for listener in self._listeners:
            listener(pending.event)
        return pending

    def record_all(self, bodies: Iterable[Body], by: str) -> None:
        """
        Record several events in order.

        Raises:
            EnergyError, ValueError, LookupError, VisitError: the first that is not legal; those before it stand.
        """
        for body in bodies:
            self.record(body, by)

    def store_chunk(self, data: bytes) -> str:
        """Keep a chunk of samples; its digest."""
        return self._recorder.append_chunk(data)

    def checkpoint(self) -> None:
        """Make the job file whole in itself, as at each step's end."""
        self._recorder.checkpoint()

    async def connect(self, url: str, *, other_master: str, agreed_by: str, by: str) -> UnitLink:
        """
        Open the line to the unit (safety rule R16: who else is on it, and who agreed, are asked before).

        A serial port is listened to for 5 s of wire time before the first request.

        Raises:
            LineInUse: somebody else was heard on it; nothing was sent.

            LinkError: not reached, or not the right unit.

            VisitError: a motion is open.
        """
        if self.in_motion:
            raise VisitError("the valve is in motion: a line is not changed now")
        await self._stop_reading()
        old, self._link, self._supervisor = self._link, None, None
        if old is not None:
            await old.close()
        address = parse_url(url)
        await demand_quiet(address, self.clock)
        link = await UnitLink.connect(address, self.job.sheet, self.clock, self._slot)
        facts = link.facts
        body = Connected(
            url=url,
            practice_speed=None if facts.practice is None else facts.practice.speed,
            round_trip_p50_s=facts.round_trip.p50_s,
            round_trip_p99_s=facts.round_trip.p99_s,
            make_safe_s=facts.make_safe_s,
            echoes=facts.echo,
            identity=facts.identity,
            other_master=other_master,
            agreed_by=agreed_by,
        )
        self._link = link
        self._supervisor = Supervisor(
            LinkedUnit(link, self.clock, self.energy_view), self, self._people, self._slot, self._leave_for
        )
        self.record(body, by)
        if self._keeps_reading:
            self.keep_reading()
        return link

    def keep_reading(self) -> None:
        """Read all points beside the walk from now on, over each line, for the screens and the record."""
        self._keeps_reading = True
        if self._link is None or self._reading is not None:
            return
        self._background = Background(self._link, self, self.clock, lambda: self.in_motion, self._contact)
        self._reading = asyncio.get_running_loop().create_task(self._background.run())

    async def send_stop(self, by: str) -> bool:
        """
        Send STOP although no motion is open from here (safety rule R8): any state, unarmed, as often as wanted.

        Returns:
            Whether it could be put on the wire; it is recorded either way.
        """
        link, point = self._link, self.job.sheet.point("command_stop")
        if link is None or point is None:
            return False
        try:
            written = await link.make_safe(point.role, point.value, self.energy_view())
        except LinkError as error:
            written = Written(self.clock.unit_ns(), 0, Outcome.UNANSWERED, str(error))
        self.record(
            CommandSent(
                run="",
                role=point.role,
                value=point.value,
                at_ns=written.at_ns,
                half_width_ns=written.half_width_ns,
                outcome=written.outcome,
                purpose="stop",
                reason=written.reason,
            ),
            by,
        )
        return written.outcome is Outcome.ANSWERED

    async def disconnect(self, by: str) -> None:
        """
        Close the line; what the unit does then is the sheet's to say (safety rule R16).

        Raises:
            VisitError: a motion is open.
        """
        if self.in_motion:
            raise VisitError("the valve is in motion: the line stays open until it has ended")
        await self._stop_reading()
        link, self._link, self._supervisor = self._link, None, None
        if link is not None:
            self.record(Disconnected(unit_will=self.job.sheet.behaviour.lost_contact), by)
            await link.close()

    async def read(self, roles: Iterable[str]) -> Readings:
        """
        Readings of these roles, once; contact lost and back are recorded.

        Raises:
            VisitError: there is no line, or the unit does not answer.
        """
        link = self._line()
        try:
            if not link.connected and not self.in_motion:  # in a motion its own sampler opens the line again
                await link.reconnect()
            readings = await link.read(roles)
        except (LocalFault, UnitRefused) as error:
            raise VisitError(str(error)) from error
        except LinkError as error:
            if self.job.contact.up:
                self.record(ContactLost(reason=str(error)))
            raise VisitError(f"the unit does not answer: {error}") from error
        if not self.job.contact.up:
            self.record(ContactBack())
        return readings

    async def answers_again(self) -> bool:
        """Whether the unit answers now; contact back or lost is recorded."""
        try:
            await self.read((self.job.sheet.link.alive,))
        except VisitError:
            return False
        return True

    def energy_view(self) -> EnergyView:
        """The energy state as the write guard needs it."""
        now = self.job.energy_log.now
        at_rest = now.state is energy.EnergyState.CONTROL and now.target is None
        return EnergyView(now.state.value, now.generation, proved_commands(self.job), at_rest)

    async def perform(self, step: Step, use: ProcedureUse, by: str, *, as_found: bool = False) -> Ended[Any]:
        """
        Run a step's procedure, compute and judge its figures; all of it is durable when this returns.

        Raises:
            MotionRefused: it may not begin; nothing was sent.

            VisitError: there is no line.

            RecordError: the disk did not take it; the safe end was carried out.
        """
        supervisor = self._supervisor
        if supervisor is None:
            raise VisitError("there is no line to the unit")
        if supervisor.busy:
            raise MotionRefused("another test is still in motion; one at a time")
        name = next_test(self.job, step, use).name
        order = MotionOrder(
            run=name.replace(" ", "-"),
            step=step.id,
            procedure=use.name,
            arguments={**use.arguments, "test": name},
            as_found=as_found,
            by=by,
        )
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

    async def _stop_reading(self) -> None:
        reading, self._reading = self._reading, None
        background, self._background = self._background, None
        if reading is not None:
            reading.cancel()
            await asyncio.gather(reading, return_exceptions=True)
        if background is not None:
            background.flush()

    def _contact(self, reason: str) -> None:
        """What the background saw: contact lost and back are events, each once."""
        if reason and self.job.contact.up:
            self.record(ContactLost(reason=reason))
        elif not reason and not self.job.contact.up:
            self.record(ContactBack())

    def stop(self, by: str, reason: str) -> bool:
        """Stop the open motion; whether there was one."""
        return self._supervisor is not None and self._supervisor.stop(by, reason)

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
        self.record(SessionEnded(reason=reason))
        self._recorder.close()

    async def _conclude(self, order: MotionOrder, ended: Ended[Any], name: str) -> None:
        made = RunMade(
            run=order.run,
            step=order.step,
            test=name,
            procedure=order.procedure,
            arguments=order.arguments,
            how=ended.how,
            reason=ended.reason,
        )
        try:
            computed, result = verdict_of(made, ended.observed, self.job.sheet)
        except Exception as error:  # noqa: BLE001  # the run was made and is kept; its figures can be computed later
            computed, result = verdict_of(made, None, self.job.sheet)
            why = f"its figures could not be computed: {error}"
            result = msgspec.structs.replace(result, verdict=Verdict.VOID, rule=why)
        if computed is not None:
            self.record(computed)
        await self.record(result).durable()
        self.checkpoint()

    def _leave_for(self, begin: Begin, order: MotionOrder) -> Leave:
        try:
            return leave_for(self.job, begin, order, self.clock)
        except LeaveRefused as refused:
            raise MotionRefused(str(refused)) from refused

    def _line(self) -> UnitLink:
        if self._link is None:
            raise VisitError("there is no line to the unit")
        return self._link

    def _withdraw_leave(self, reason: str) -> None:
        leave = self._slot.withdraw(reason)
        if leave is not None:
            self.record(LeaveWithdrawn(test=leave.test, reason=reason))

    def _trial(self, body: Body, by: str) -> Event:
        return Event(
            n=self.job.last_n + 1,
            session=self._recorder.session,
            at_utc=self.clock.utc().isoformat(),
            at_mono_ns=self.clock.unit_ns(),
            by=by,
            kind=kind_of(type(body)),
            v=1,
            need=needed(body),
            body=msgspec.to_builtins(body),
        )


def _writable_job(path: Path) -> Job:
    try:
        with Reader(path) as reader:
            job = fold(reader.events())
    except (energy.EnergyError, ValueError, LookupError) as error:
        raise JobError(f"{path.name} holds what cannot have happened: {error}") from error
    if job.read_only:
        raise VisitError(f"{path.name} can only be read: {job.read_only}")
    return job


def _append(recorder: Recorder, body: Body, by: str) -> Pending:
    return recorder.append(kind_of(type(body)), msgspec.to_builtins(body), by=by, need=needed(body))


def _session() -> str:
    return secrets.token_hex(4)

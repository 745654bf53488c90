"""One open motion: how it begins, what is done with each request of its procedure, and how it ends."""

import asyncio
from collections.abc import Callable
from typing import Any, TypeVar

import msgspec

from commission.clock import NS_PER_S
from commission.job.bodies import (
    GuardTripped,
    MotionBegun,
    MotionEnded,
    Noted,
    ProcedureAnswered,
    ProcedureDwelt,
)
from commission.link.faults import LinkError
from commission.procedures.requests import (
    SET_POINT,
    Answer,
    Ask,
    Begin,
    Command,
    Dwelt,
    SafeEnd,
    Sent,
    SetPoints,
    Tripped,
)
from commission.sample import Outcome, ReadPlan, Silence, Written
from commission.sheet.decode import Decoder, Readings
from commission.supervise.bits import BitWatch
from commission.supervise.hand_back import hand_back
from commission.supervise.held import HELD_S, hold
from commission.supervise.order import Aborted, Ended, MotionOrder, MotionView, StopRequested
from commission.supervise.passing import AtUnit, Passing
from commission.supervise.safe_end import LIFE_S, SafeEndReport, SafeEndSeen, perform, see_home
from commission.supervise.surroundings import Ledger, People, Unit
from commission.supervise.trail import Trail
from commission.supervise.watching import Watching

R = TypeVar("R")

EVIDENCE_S = 15.0
"""After somebody else took the valve, samples are kept for this much unit time at most, or until it is at rest."""

EVIDENCE_REST_S = 2.0
"""At rest for this long it is not going to move any more: longer than a trip takes to start a valve moving."""

_TICK_S = 0.25
"""Longest wait, in wire time, before silence is looked at again."""


class Motion:
    """
    One open motion.

    Args:
        unit: The unit.

        ledger: The record.

        people: Who answers questions.

        plan: What is read.

        begin: What the procedure began with.

        order: What it is run for.

        withdraw: Takes back all leave, with the reason.

        bits: What the unit's bits were before it began.

        has_leave: Whether there is leave now.
    """

    def __init__(
        self,
        unit: Unit,
        ledger: Ledger,
        people: People,
        plan: ReadPlan,
        begin: Begin,
        order: MotionOrder,
        withdraw: Callable[[str], None],
        bits: BitWatch,
        has_leave: Callable[[], bool],
    ) -> None:
        self.begin = begin
        self.order = order
        self.over = asyncio.Event()
        self.begun = False
        self.view = MotionView(begin.test, order.step, unit.clock.unit_ns())
        self._unit = unit
        self._clock = unit.clock
        self._ledger = ledger
        self._people = people
        self._plan = plan
        self._withdraw = withdraw
        self._has_leave = has_leave
        self._trail = Trail(order.run, plan, ledger, unit.clock, bits)
        self._watching: Watching | None = None
        self._stopped: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        self._stopped_by = "program"
        self._hurried = False
        self._stop_key = False
        self._program_ends = False
        self._once_more = asyncio.Event()
        self._commanded = False
        self._set_before = False
        self._taken_over = ""
        self._asking: tuple[Ask, asyncio.Future[Answer]] | None = None
        self._passing: Passing | None = None

    async def commit_beginning(self) -> None:
        """
        The only commit that a command waits for.

        Raises:
            ValueError, RecordError: it cannot be recorded.
        """
        begin, order = self.begin, self.order
        body = MotionBegun(
            run=order.run,
            step=order.step,
            procedure=order.procedure,
            arguments=order.arguments,
            test=begin.test,
            commands={**_named(begin), **{command.role: command.value for command in begin.commands}},
            safe_end=begin.safe_end,
            guards=tuple(begin.guards),
            plan=self._plan,
            as_found=order.as_found,
        )
        pending = self._ledger.record(body, order.by)
        self.begun = True
        await pending.durable()
        decoder = Decoder(self._unit.sheet, self._plan)
        self._watching = Watching(self._unit.watch(self._plan), decoder, self._trail, self._clock)

    def request_stop(self, by: str, reason: str, *, returning: bool = False) -> None:
        """
        Somebody stops the motion; the program itself, and whoever stops it twice, is not kept waiting afterwards.

        Args:
            by: Who.

            reason: Why.

            returning: What the safe end is rather than what the stop key sends, where these differ.
        """
        again, program = self._stopped.done() or self.view.ending, by == "program"
        self._hurried |= program or again
        self._program_ends |= program
        if not (program and again):  # a program that ends does not move a valve that somebody has stopped
            self._stop_key = not returning and not program
        if again:
            self._once_more.set()
        if not self._stopped.done():
            self._stopped_by = by
            self._stopped.set_result(f"{reason}, by {by}")

    def let_pass(self, seconds: float, at_unit: AtUnit) -> Passing | None:
        """Skip a practice unit's time between samples from now on; None where that is being done, or it ends."""
        if self.view.ending or (self._passing is not None and not self._passing.is_over):
            return None
        self._passing = Passing(seconds, at_unit)
        return self._passing

    async def sampled(self) -> None:
        """Wait until the next sample was taken; not long where none comes."""
        if self._watching is not None:
            await self._watching.taken()

    async def next_item(self) -> Readings | Silence:
        """
        The next sample as the procedure sees it, after it was kept and guarded.

        Raises:
            StopRequested: somebody stopped the motion.

            Aborted: a guard tripped, or the unit was silent for too long.
        """
        watching = self._watching
        if watching is None:
            raise Aborted("nothing is being watched")
        item = None
        while item is None:
            self._heed_stop()
            patience_s = max(0.001, min(_TICK_S, self.begin.gap_s - watching.silent_s))
            item = await watching.next(wait_s=patience_s, until=self._stopped)
            self._heed_stop()
            self._trail.tick()
            if item is None:
                self._check_gap(watching)
        if isinstance(item, Silence):
            self.view = msgspec.structs.replace(self.view, silence=item)
            self._check_gap(watching, item.reason)
            return item
        self._show(item, watching)
        self._check_guards(item)
        if self._passing is not None:
            await self._passing.go_on(self._clock)
        return item

    async def command(self, request: Command) -> Sent:
        """
        Give one of the commands that `Begin` named.

        Raises:
            StopRequested: somebody stopped the motion first, or before the answer came.

            Aborted: `Begin` did not name it.
        """
        self._heed_stop()
        if request.role == SET_POINT and self.begin.set_points is not None:
            self._check_set_point(request.value, self.begin.set_points)
        elif not any((known.role, known.value) == (request.role, request.value) for known in self.begin.commands):
            raise Aborted(f"the procedure asked for {request.role}, which it did not name at its beginning")
        before, self._commanded = self._commanded, True
        self.view = msgspec.structs.replace(self.view, command="sent")
        try:
            written = await self._written(request)
        except LinkError as error:
            self._commanded = before
            written = Written(self._clock.unit_ns(), 0, Outcome.REFUSED, str(error))
        if written.outcome is not Outcome.UNANSWERED and self._watching is not None:
            self._watching.heard()
        self.view = msgspec.structs.replace(self.view, command=str(written.outcome))
        return self._trail.sent(request.role, request.value, written, "procedure")

    def _check_set_point(self, value: int, allowed: SetPoints) -> None:
        """Safety rule R14: within what was named, and the first of all is where the valve is seen to stand."""
        if not allowed.low <= value <= allowed.high:
            raise Aborted(f"the procedure asked for set point {value}, outside {allowed.low} to {allowed.high}")
        if self._set_before:
            return
        latest = None if self._watching is None else self._watching.latest
        travel = None if latest is None else latest.value("travel")
        if travel is None or abs(travel * allowed.scale - value) > allowed.near:
            shown = "not read" if travel is None else f"{travel * 100:.2f} %"
            raise Aborted(f"the first set point, {value}, is not the measured position, {shown}")
        self._set_before = True

    async def ask(self, question: Ask) -> Answer:
        """Ask a person; samples are kept and guarded meanwhile."""
        asking = asyncio.ensure_future(self._people.ask(question))
        try:
            while not asking.done():
                await self.next_item()
        finally:
            asking.cancel()
            await asyncio.wait({asking})
        return self._answered(question, asking.result())

    async def watch(self, question: Ask | None = None) -> Readings | Silence | Answer:
        """
        The next sample, or the answer to the question that is open meanwhile.

        Raises:
            StopRequested, Aborted: as for `next_item`.
        """
        asking = await self._kept_asking(question)
        if question is not None and asking is not None and asking.done():
            self._asking = None
            return self._answered(question, asking.result())
        return await self.next_item()

    async def _kept_asking(self, question: Ask | None) -> "asyncio.Future[Answer] | None":
        """What is being asked, where it is this question; another one is taken back first."""
        if self._asking is not None and self._asking[0] == question:
            return self._asking[1]
        open_now, self._asking = self._asking, None
        if open_now is not None:
            open_now[1].cancel()
            await asyncio.wait({open_now[1]})
        if question is not None:
            self._asking = (question, asyncio.ensure_future(self._people.ask(question)))
        return None

    def _answered(self, question: Ask, answer: Answer) -> Answer:
        """Record what a person said to the procedure."""
        body = ProcedureAnswered(
            run=self.order.run,
            sample=self._number,
            question=question.id,
            text=answer.text,
            value=answer.value,
            at_ns=answer.at_ns,
        )
        self._ledger.record(body, answer.by)
        return answer

    async def dwell(self, seconds: float) -> Dwelt:
        """Wait in unit time; samples are kept and guarded meanwhile."""
        until_ns = self._clock.unit_ns() + round(seconds * NS_PER_S)
        while self._clock.unit_ns() < until_ns:
            await self.next_item()
        body = ProcedureDwelt(run=self.order.run, sample=self._number, seconds=seconds, shortened=False)
        self._ledger.record(body)
        return Dwelt(seconds)

    def note(self, mark: str, *, loud: bool = False) -> None:
        """Mark the record; a loud mark is shown to the people at the valve too."""
        self._ledger.record(Noted(run=self.order.run, mark=mark))
        if loud:
            self.view = msgspec.structs.replace(self.view, said=(*self.view.said, mark))

    async def end(self, how: str, reason: str, observed: R | None) -> Ended[R]:
        """
        The safe end, and the end of the record of it: entered however the loop was left. Durable when this returns.

        Raises:
            RecordError: the disk did not take it; the safe end was carried out all the same.
        """
        self.view = msgspec.structs.replace(self.view, ending=True)
        if self._passing is not None:
            self._passing.end()
        await self._kept_asking(None)
        safe_end = await self._make_safe(how)
        if self._watching is not None:
            await self._watching.close()
        if how == "aborted" and not self._commanded:
            how = "no test"
        self._trail.flush()
        words = reason or safe_end.reason
        body = MotionEnded(run=self.order.run, how=how, reason=words, safe_end=safe_end.seen)
        await self._ledger.record(body, self._stopped_by).durable()
        return Ended(how, words, safe_end, observed if how == "finished" else None)

    async def _make_safe(self, how: str) -> SafeEndReport:
        watching = self._watching
        if self._taken_over:
            self._withdraw(self._taken_over)
        if watching is None or not self._commanded:
            return SafeEndReport(SafeEndSeen.NOT_NEEDED, "nothing had been commanded")
        if how == "finished" and watching.rest.at_rest:
            return SafeEndReport(SafeEndSeen.NOT_NEEDED, "the valve is seen at rest")
        report = await self._ended_safely(how, watching)
        self._withdraw(f"{self.begin.test} has ended: {report.reason}")
        if report.seen is SafeEndSeen.WITHHELD:
            await self._keep_evidence(watching)
        return report

    async def _ended_safely(self, how: str, watching: Watching) -> SafeEndReport:
        """The safe end, or what the stop key sends; a return is watched home, and can be stopped or asked for anew."""
        begin = self._as_stop() if how == "stopped" and self._stop_key else self.begin
        while True:
            self._once_more.clear()
            report = await perform(begin, self._unit, watching, self._trail, self._taken_over)
            if report.seen is SafeEndSeen.CONFIRMED and begin.safe_end is SafeEnd.RETURN:
                report = await see_home(begin, self._unit.clock, watching, self._once_more)
            elif report.seen is SafeEndSeen.CONFIRMED and self.begin.safe_end is SafeEnd.RETURN:
                report = await self._held(watching, report)
            if report.seen is SafeEndSeen.CONFIRMED and self.begin.hand_back is not None:
                report = await hand_back(self.begin.hand_back, self._unit, watching, self._trail, report)
            if not self._once_more.is_set() or self.begin.stop_command is None:
                return report
            begin = self._as_stop() if self._stop_key else self.begin

    async def _held(self, watching: Watching, stopped: SafeEndReport) -> SafeEndReport:
        """Stopped off its end: the return stays one key away for a while."""

        def goes_on() -> bool:
            return self._has_leave() and not self._program_ends

        if goes_on():
            until_ns = self._clock.wire_ns() + round(HELD_S * NS_PER_S)
            self.view = msgspec.structs.replace(self.view, held_until_ns=until_ns)
        stopped = await hold(self.begin, self._clock, watching, stopped, self._once_more, goes_on)
        self.view = msgspec.structs.replace(self.view, held_until_ns=None)
        return stopped

    def _as_stop(self) -> Begin:
        stop = self.begin.stop_command
        if stop is None:
            return self.begin
        return msgspec.structs.replace(self.begin, safe_end=SafeEnd.STOP, safe_command=stop)

    async def _written(self, request: Command) -> Written:
        """Write; a stop does not wait for the answer, nor for the line to come free for the command."""
        writing = asyncio.ensure_future(self._unit.command(request.role, request.value))
        try:
            awaited: set[asyncio.Future[Any]] = {writing, self._stopped}
            await asyncio.wait(awaited, return_when=asyncio.FIRST_COMPLETED)
        finally:
            writing.cancel()
            await asyncio.wait({writing})
        if writing.cancelled():
            given_up = Written(
                self._clock.unit_ns(), 0, Outcome.UNANSWERED, "given up for a stop; it may have been sent"
            )
            self._trail.sent(request.role, request.value, given_up, "procedure")
            self._heed_stop()
        return writing.result()

    def _heed_stop(self) -> None:
        if self._stopped.done():
            raise StopRequested(self._stopped.result())

    @property
    def _number(self) -> int:
        return 0 if self._watching is None else self._watching.number

    def _show(self, readings: Readings, watching: Watching) -> None:
        command = self.view.command
        if command in ("sent", "answered", "unanswered", "received"):
            if watching.rest.travel_still is False:
                command = "moving"
            elif readings.bit("motor_running"):
                command = "received"
        self.view = msgspec.structs.replace(self.view, latest=readings, silence=None, command=command)

    def _check_guards(self, readings: Readings) -> None:
        for name, guard in self.begin.guards.items():
            tripped: Tripped | None = guard(readings)
            if tripped is not None:
                self._taken_over = tripped.reason if tripped.taken_over else ""
                body = GuardTripped(
                    run=self.order.run, guard=name, reason=tripped.reason, taken_over=tripped.taken_over
                )
                self._ledger.record(body)
                raise Aborted(tripped.reason)

    def _check_gap(self, watching: Watching, reason: str = "") -> None:
        silent_s = watching.silent_s
        if silent_s < self.begin.gap_s:
            return
        words = f"no answer for {silent_s:.1f} s"
        if not reason:
            now_ns = self._clock.unit_ns()
            self._trail.gap(now_ns - round(silent_s * self._clock.speed * NS_PER_S), now_ns, words)
        raise Aborted(f"{words}: {reason}" if reason else words)

    async def _keep_evidence(self, watching: Watching) -> None:
        """Nothing is sent any more, but what the valve does is kept until it is at rest."""
        unit_ns, wire_ns = self._clock.unit_ns(), self._clock.wire_ns()
        watching.rest.forget()
        while self._clock.unit_ns() - unit_ns < EVIDENCE_S * NS_PER_S and watching.rest.rest_s < EVIDENCE_REST_S:
            if self._hurried and self._clock.wire_ns() - wire_ns > LIFE_S * NS_PER_S:
                return
            item = await watching.next(wait_s=_TICK_S)
            if isinstance(item, Readings):
                self.view = msgspec.structs.replace(self.view, latest=item)


def _named(begin: Begin) -> dict[str, int]:
    """A set point stands among the commands with the least value it may be given."""
    return {} if begin.set_points is None else {SET_POINT: begin.set_points.low}

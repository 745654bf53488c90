"""One open motion: where its samples come from, what is done with each, and how it begins and ends."""

import asyncio
from typing import TypeVar

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
from commission.procedures.requests import Answer, Ask, Begin, Command, Dwelt, Sent, Tripped
from commission.sample import Outcome, ReadPlan, Sample, Silence, Written
from commission.sheet.decode import Decoder, Readings
from commission.supervise.order import Aborted, Ended, MotionOrder, MotionView, StopRequested
from commission.supervise.rest import RestWatch
from commission.supervise.safe_end import SafeEndReport, SafeEndSeen, perform
from commission.supervise.surroundings import Ledger, People, SampleSource, Unit
from commission.supervise.trail import Trail

R = TypeVar("R")

EVIDENCE_S = 15.0
"""After somebody else took the valve, samples are kept for this much unit time at most, or until it is at rest."""


class Motion:
    """One open motion: what it began with, where its samples come from, what was seen."""

    def __init__(
        self, unit: Unit, ledger: Ledger, people: People, plan: ReadPlan, begin: Begin, order: MotionOrder
    ) -> None:
        self.begin = begin
        self.order = order
        self.over = asyncio.Event()
        self.taken_over = ""
        self.view = MotionView(begin.test, order.step, unit.clock.unit_ns())
        self._unit = unit
        self._clock = unit.clock
        self._ledger = ledger
        self._people = people
        self._plan = plan
        self._decoder = Decoder(unit.sheet, self._plan)
        self._trail = Trail(order.run, self._plan, ledger, unit.clock)
        self._source: SampleSource | None = None
        self._stop = asyncio.Event()
        self._stop_words = ""
        self._stopped_by = "program"
        self._commanded = False
        self._rest = RestWatch()
        self._latest_number = 0
        self._silent_since_ns: int | None = None

    async def commit_beginning(self) -> None:
        """The only commit that a command waits for."""
        begin, order = self.begin, self.order
        body = MotionBegun(
            run=order.run,
            step=order.step,
            procedure=order.procedure,
            arguments=order.arguments,
            test=begin.test,
            commands={command.role: command.value for command in begin.commands},
            safe_end=begin.safe_end,
            guards=tuple(begin.guards),
            plan=self._plan,
            as_found=order.as_found,
        )
        await self._ledger.record(body, order.by).durable()
        self._source = self._unit.watch(self._plan)

    def request_stop(self, by: str, reason: str) -> None:
        """Somebody stops the motion."""
        if not self._stop.is_set():
            self._stopped_by = by
            self._stop_words = f"{reason}, by {by}"
            self._stop.set()

    async def next_item(self) -> Readings | Silence:
        """
        The next sample as the procedure sees it, after it was kept and guarded.

        Raises:
            StopRequested: somebody stopped the motion.

            Aborted: a guard tripped, or the unit was silent for too long.
        """
        item = await self._stoppable_sample()
        if isinstance(item, Silence):
            self._trail.silence(item)
            self.view = msgspec.structs.replace(self.view, silence=item)
            self._check_gap(item)
            return item
        readings = self._decoder.decode(item)
        self._latest_number = readings.number
        self._silent_since_ns = None
        self._trail.sample(item, readings)
        self._rest.see(readings)
        self._show(readings)
        self._check_guards(readings)
        return readings

    async def command(self, request: Command) -> Sent:
        """
        Give one of the commands that `Begin` named.

        Raises:
            StopRequested: somebody stopped the motion first.
        """
        if self._stop.is_set():
            raise StopRequested(self._stop_words)
        if not any((known.role, known.value) == (request.role, request.value) for known in self.begin.commands):
            raise Aborted(f"the procedure asked for {request.role}, which it did not name at its beginning")
        self._commanded = True
        self.view = msgspec.structs.replace(self.view, command="sent")
        try:
            written = await self._unit.command(request.role, request.value)
        except LinkError as error:
            written = Written(self._clock.unit_ns(), 0, Outcome.REFUSED, str(error))
        self.view = msgspec.structs.replace(self.view, command=str(written.outcome))
        return self._trail.sent(request.role, request.value, written, "procedure")

    async def ask(self, question: Ask) -> Answer:
        """Ask a person; samples are kept and guarded meanwhile."""
        asking = asyncio.ensure_future(self._people.ask(question))
        try:
            while not asking.done():
                await self.next_item()
        finally:
            if not asking.done():
                asking.cancel()
        answer = asking.result()
        body = ProcedureAnswered(
            run=self.order.run,
            sample=self._latest_number,
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
        body = ProcedureDwelt(run=self.order.run, sample=self._latest_number, seconds=seconds, shortened=False)
        self._ledger.record(body)
        return Dwelt(seconds)

    def note(self, mark: str) -> None:
        """Mark the record."""
        self._ledger.record(Noted(run=self.order.run, mark=mark))

    async def end(self, how: str) -> SafeEndReport:
        """The safe end: entered however the loop was left."""
        self.view = msgspec.structs.replace(self.view, ending=True)
        if self._source is None or not self._commanded:
            return SafeEndReport(SafeEndSeen.NOT_NEEDED, "nothing had been commanded")
        if how == "finished" and self._rest.at_rest:
            return SafeEndReport(SafeEndSeen.NOT_NEEDED, "the valve is seen at rest")
        report = await perform(self.begin, self._unit, self._source, self._decoder, self._trail, self.taken_over)
        if report.seen is SafeEndSeen.WITHHELD:
            await self._keep_evidence()
        return report

    async def commit_ending(self, how: str, reason: str, safe_end: SafeEndReport, observed: R | None) -> Ended[R]:
        """Write how it ended; durable when this returns."""
        if how == "aborted" and not self._commanded:
            how = "no test"
        self._trail.flush()
        words = reason or safe_end.reason
        body = MotionEnded(run=self.order.run, how=how, reason=words, safe_end=safe_end.seen)
        await self._ledger.record(body, self._stopped_by).durable()
        return Ended(how, words, safe_end, observed if how == "finished" else None)

    async def _stoppable_sample(self) -> Sample | Silence:
        if self._source is None:
            raise Aborted("nothing is being watched")
        if self._stop.is_set():
            raise StopRequested(self._stop_words)
        sampling = asyncio.ensure_future(self._source.next())
        stopping = asyncio.ensure_future(self._stop.wait())
        try:
            await asyncio.wait({sampling, stopping}, return_when=asyncio.FIRST_COMPLETED)
        finally:
            stopping.cancel()
            if not sampling.done():
                sampling.cancel()
        if self._stop.is_set():
            raise StopRequested(self._stop_words)
        return sampling.result()

    def _show(self, readings: Readings) -> None:
        command = self.view.command
        if command in ("sent", "answered", "unanswered", "received"):
            if self._rest.travel_still is False:
                command = "moving"
            elif readings.bit("motor_running"):
                command = "received"
        self.view = msgspec.structs.replace(self.view, latest=readings, silence=None, command=command)

    def _check_guards(self, readings: Readings) -> None:
        for name, guard in self.begin.guards.items():
            tripped: Tripped | None = guard(readings)
            if tripped is not None:
                self.taken_over = tripped.reason if tripped.taken_over else ""
                body = GuardTripped(
                    run=self.order.run, guard=name, reason=tripped.reason, taken_over=tripped.taken_over
                )
                self._ledger.record(body)
                raise Aborted(tripped.reason)

    def _check_gap(self, silence: Silence) -> None:
        if self._silent_since_ns is None:
            self._silent_since_ns = silence.since_ns
        silent_s = (silence.at_ns - self._silent_since_ns) / NS_PER_S / self._clock.speed
        if silent_s > self.begin.gap_s:
            raise Aborted(f"no answer for {silent_s:.1f} s: {silence.reason}")

    async def _keep_evidence(self) -> None:
        """Somebody else has the valve: nothing is sent, but what it does is kept until it is at rest."""
        until_ns = self._clock.unit_ns() + round(EVIDENCE_S * NS_PER_S)
        self._rest.forget()
        while self._source is not None and self._clock.unit_ns() < until_ns:
            if self._rest.at_rest or self._stop.is_set():
                return
            item = await self._source.next()
            if isinstance(item, Silence):
                self._trail.silence(item)
                continue
            readings = self._decoder.decode(item)
            self._trail.sample(item, readings)
            self._rest.see(readings)
            self.view = msgspec.structs.replace(self.view, latest=readings)

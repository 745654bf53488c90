"""
Writes what happens in one motion: samples in chunks of at most a second, bit changes, gaps, what was sent.

A kill at any moment loses at most the samples since the last chunk.
"""

from commission.clock import NS_PER_S, Clock
from commission.job.bodies import CommandSent, GapSeen, SamplesStored
from commission.procedures.requests import Sent
from commission.record.chunks import pack
from commission.sample import ReadPlan, Sample, SampleOrSilence, Silence, Written
from commission.sheet.decode import Readings
from commission.supervise.bits import BitWatch
from commission.supervise.surroundings import Ledger

CHUNK_NS = NS_PER_S * 9 // 10
"""Wire time after which a chunk is stored: under a second with the time that storing takes."""


class Trail:
    """
    The trail of one run.

    Args:
        run: Id of the run.

        plan: The read plan of its samples.

        ledger: Where events go.

        clock: Gives the wire time that chunks are cut by.

        bits: What the bits were before this run.
    """

    def __init__(self, run: str, plan: ReadPlan, ledger: Ledger, clock: Clock, bits: BitWatch) -> None:
        self._run = run
        self._plan = plan
        self._ledger = ledger
        self._clock = clock
        self._items: list[SampleOrSilence] = []
        self._chunk_began_ns = clock.wire_ns()
        self._bits = bits

    def sample(self, sample: Sample, readings: Readings) -> None:
        """Keep a sample, and say which bits changed since the one before."""
        self._keep(sample)
        self._bits.seen(readings, self._run)

    def silence(self, silence: Silence) -> None:
        """Keep a silence, and say so."""
        self._keep(silence)
        self.gap(silence.since_ns, silence.at_ns, silence.reason)

    def gap(self, since_ns: int, at_ns: int, reason: str) -> None:
        """Say that no sample came between two moments of unit time."""
        self._ledger.record(GapSeen(run=self._run, since_ns=since_ns, at_ns=at_ns, reason=reason))

    def tick(self) -> None:
        """Store what has been kept for long enough, whether or not more is coming."""
        if self._items and self._clock.wire_ns() - self._chunk_began_ns >= CHUNK_NS:
            self.flush()

    def sent(self, role: str, value: int, written: Written, purpose: str) -> Sent:
        """Say that a command was put on the wire; the reply for the procedure."""
        body = CommandSent(
            run=self._run,
            role=role,
            value=value,
            at_ns=written.at_ns,
            half_width_ns=written.half_width_ns,
            outcome=written.outcome,
            purpose=purpose,
            reason=written.reason,
            code=written.code,
        )
        self._ledger.record(body)
        return Sent(role, value, written.at_ns, written.half_width_ns, written.outcome, written.reason, written.code)

    def flush(self) -> None:
        """Store the samples kept since the last chunk."""
        if not self._items:
            return
        digest = self._ledger.store_chunk(pack(self._plan.digest, self._items))
        body = SamplesStored(run=self._run, chunk=digest, plan=self._plan.digest, count=len(self._items))
        self._ledger.record(body)
        self._items = []

    def _keep(self, item: SampleOrSilence) -> None:
        self.tick()
        if not self._items:
            self._chunk_began_ns = self._clock.wire_ns()
        self._items.append(item)

"""
The samples of one motion: each is decoded, remembered and kept.

One read is in flight at a time, and who gives up waiting for it does not give up the read: on a serial line a read that
is dropped leaves an answer on the wire, into which the next frame, perhaps the stop, would be sent.
"""

import asyncio
import contextlib

from commission.clock import NS_PER_S, Clock
from commission.sample import SampleOrSilence, Silence
from commission.sheet.decode import Decoder, Readings
from commission.supervise.rest import RestWatch
from commission.supervise.surroundings import SampleSource
from commission.supervise.trail import Trail

TAKEN_WITHIN_S = 0.05
"""Wire time that whoever wants to do something right after a sample waits for one."""


class Watching:
    """
    What is seen in one motion.

    Args:
        source: Polls the motion's plan.

        decoder: Reads its samples.

        trail: Where they are kept.

        clock: Wire time, for silences.

    Attributes:
        rest: Whether the valve is at rest, by these samples.

        latest: The newest readings, or None before the first.

        number: Number of the newest sample or silence.
    """

    def __init__(self, source: SampleSource, decoder: Decoder, trail: Trail, clock: Clock) -> None:
        self.rest = RestWatch()
        self.latest: Readings | None = None
        self.number = 0
        self._source = source
        self._decoder = decoder
        self._trail = trail
        self._clock = clock
        self._reading: asyncio.Future[SampleOrSilence] | None = None
        self._heard_ns = clock.wire_ns()
        self._taken = asyncio.Event()

    async def taken(self) -> None:
        """Wait until the next sample or silence was taken, `TAKEN_WITHIN_S` at most."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(TAKEN_WITHIN_S):
                await self._taken.wait()

    @property
    def silent_s(self) -> float:
        """Wire time since the unit was heard last."""
        return (self._clock.wire_ns() - self._heard_ns) / NS_PER_S

    def heard(self) -> None:
        """The unit answered just now."""
        self._heard_ns = self._clock.wire_ns()

    async def next(
        self, *, wait_s: float | None = None, until: "asyncio.Future[str] | None" = None
    ) -> Readings | Silence | None:
        """
        The next sample, or the silence in its place.

        Args:
            wait_s: Longest wait, in wire time.

            until: Ends the wait when it is done.

        Returns:
            None where the wait ended first; the sample is then still to come.
        """
        if self._reading is None:
            self._reading = asyncio.ensure_future(self._source.next())
        reading = self._reading
        awaited: set[asyncio.Future[SampleOrSilence] | asyncio.Future[str]] = {reading}
        if until is not None:
            awaited.add(until)
        await asyncio.wait(awaited, timeout=wait_s, return_when=asyncio.FIRST_COMPLETED)
        if not reading.done():
            return None
        self._reading = None
        return self._take(reading.result())

    async def close(self) -> None:
        """Give up the read that is still in flight."""
        reading, self._reading = self._reading, None
        if reading is not None:
            reading.cancel()
            await asyncio.wait({reading})

    def _take(self, item: SampleOrSilence) -> Readings | Silence:
        """The record comes last, so that what cannot be written is seen all the same."""
        self.number = item.number
        self._taken.set()
        self._taken.clear()
        if isinstance(item, Silence):
            self._trail.silence(item)
            return item
        self.heard()
        readings = self._decoder.decode(item)
        self.latest = readings
        self.rest.see(readings)
        self._trail.sample(item, readings)
        return readings

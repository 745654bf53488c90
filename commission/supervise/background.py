"""
Reads all points of the unit while nothing moves: what the screens show as now, and one chunk a minute for the record.

It never reads while a motion is open: the line is the motion's then.
"""

from collections.abc import Callable

import msgspec

from commission.clock import NS_PER_S, Clock
from commission.job.bodies import SamplesStored
from commission.link.faults import LinkError
from commission.link.unit import UnitLink
from commission.record.chunks import pack
from commission.sample import BlockRead, ReadPlan, Sample, SampleOrSilence
from commission.sheet.decode import Decoder, Readings
from commission.sheet.points import Point
from commission.supervise.bits import BitWatch
from commission.supervise.surroundings import Ledger

PERIOD_S = 0.5
"""Wire time from one reading to the next."""

CHUNK_NS = 60 * NS_PER_S


class Latest(msgspec.Struct, frozen=True):
    """The newest sample of all points, decoded, with its raw words."""

    readings: Readings
    sample: Sample
    places: dict[str, tuple[int, int]]

    def raw(self, point: Point) -> str:
        """The raw words of a point, in hex; a bit as 0 or 1."""
        index, offset = self.places[point.role]
        read: BlockRead = self.sample.reads[index]
        words = read.words[offset : offset + point.words]
        return " ".join(str(word) if point.table.holds_bits else f"{word:04X}" for word in words)


class Background:
    """
    Keeps reading.

    Args:
        link: The line to the unit.

        ledger: Where chunks go.

        clock: Wire time.

        moving: Whether a motion is open.

        seen: Told whether the unit answered, with the reason where it did not.

        bits: Told of each sample: what changed beside the walk is an event too.
    """

    def __init__(
        self,
        link: UnitLink,
        ledger: Ledger,
        clock: Clock,
        moving: Callable[[], bool],
        seen: Callable[[str], None],
        bits: BitWatch,
    ) -> None:
        self.latest: Latest | None = None
        self._link = link
        self._ledger = ledger
        self._clock = clock
        self._moving = moving
        self._seen = seen
        self._bits = bits
        self._plan: ReadPlan | None = None
        self._items: list[SampleOrSilence] = []
        self._chunk_began_ns = clock.wire_ns()

    async def run(self) -> None:
        """Read for ever; ended by cancelling, after which `flush` keeps what is left."""
        while True:
            if not self._moving():
                await self._read()
            await self._clock.sleep_wire(PERIOD_S)

    def flush(self) -> None:
        """Store what was read since the last chunk."""
        if self._items and self._plan is not None:
            digest = self._ledger.store_chunk(pack(self._plan.digest, self._items))
            body = SamplesStored(run="", chunk=digest, plan=self._plan.digest, count=len(self._items))
            self._ledger.record(body)
        self._items = []
        self._chunk_began_ns = self._clock.wire_ns()

    async def _read(self) -> None:
        try:
            if not self._link.connected:
                await self._link.reconnect()
            if self._plan is None:
                self._plan = await self._link.plan(self._roles())
            item = await self._link.sampler(self._plan).next()
        except LinkError as error:
            self._seen(str(error))
            return
        if not isinstance(item, Sample):
            self._seen(item.reason)
            return
        self._seen("")
        decoder = Decoder(self._link.sheet, self._plan)
        self.latest = Latest(decoder.decode(item), item, decoder.places_by_role())
        self._bits.seen(self.latest.readings, "")
        self._items.append(msgspec.structs.replace(item, number=len(self._items) + 1))
        if self._clock.wire_ns() - self._chunk_began_ns >= CHUNK_NS:
            self.flush()

    def _roles(self) -> tuple[str, ...]:
        return tuple(point.role for point in self._link.sheet.points if not point.read_clears and point.write is None)

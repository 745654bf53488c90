"""
The line of a visit: opened and closed as steps, read beside the walk, and what was lost or came back recorded once.

`Visit` owns one. Nothing here moves the valve but `send_stop`, which only removes motion.
"""

import asyncio
from collections.abc import Callable, Iterable

from commission import energy
from commission.job.bodies import CommandSent, Connected, ContactBack, ContactLost, Disconnected
from commission.leave import LeaveSlot
from commission.link.faults import LinkError, LocalFault, UnitRefused
from commission.link.ports import demand_quiet
from commission.link.unit import UnitLink
from commission.link.url import parse_url
from commission.link.write_guard import EnergyView
from commission.sample import Outcome, Written
from commission.sheet.decode import Readings
from commission.supervise.background import Background, Latest
from commission.supervise.bits import BitWatch
from commission.visit.open_job import OpenJob, VisitError
from commission.walk.readiness import proved_commands

CANCEL_AGAIN_S = 0.5
"""So long a reading that was cancelled may go on before it is cancelled once more."""


class Connection:
    """
    The line to the unit, where there is one.

    Args:
        book: The open job.

        slot: Holds the leave that the write guard reads.

        in_motion: Whether a motion is open.
    """

    def __init__(self, book: OpenJob, slot: LeaveSlot, in_motion: Callable[[], bool]) -> None:
        self.link: UnitLink | None = None
        self.bits = BitWatch(book)
        self._book = book
        self._slot = slot
        self._in_motion = in_motion
        self._background: Background | None = None
        self._reading: asyncio.Task[None] | None = None
        self._keeps_reading = False
        self._state = book.job.energy_log.now.state
        book.on_energy(self._energy_changed)

    @property
    def latest(self) -> Latest | None:
        """The newest reading of all points, where the background reads."""
        return None if self._background is None else self._background.latest

    async def open(self, url: str, *, other_master: str, agreed_by: str, by: str) -> UnitLink:
        """
        Open the line to the unit (safety rule R16: who else is on it, and who agreed, are asked before).

        A serial port is listened to for 5 s of wire time before the first request.

        Raises:
            LineInUse: somebody else was heard on it; nothing was sent.

            LinkError: not reached, or not the right unit.
        """
        await self.stop_reading()
        old, self.link = self.link, None
        if old is not None:
            await old.close()
        address = parse_url(url)
        await demand_quiet(address, self._book.clock)
        link = await UnitLink.connect(address, self._book.job.sheet, self._book.clock, self._slot)
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
        self.link = link
        self._book.record(body, by)
        if self._keeps_reading:
            self.keep_reading()
        return link

    async def close(self, by: str) -> None:
        """Close the line; what the unit does then is the sheet's to say (safety rule R16)."""
        await self.stop_reading()
        link, self.link = self.link, None
        if link is not None:
            self._book.record(Disconnected(unit_will=self._book.job.sheet.behaviour.lost_contact), by)
            await link.close()

    def keep_reading(self) -> None:
        """Read all points beside the walk from now on, over each line, for the screens and the record."""
        self._keeps_reading = True
        if self.link is None or self._reading is not None:
            return
        self._background = Background(
            self.link, self._book, self._book.clock, self._in_motion, self._contact, self.bits
        )
        self._reading = asyncio.get_running_loop().create_task(self._background.run())

    async def stop_reading(self) -> None:
        """Read no longer beside the walk; what was read is kept."""
        reading, self._reading = self._reading, None
        background, self._background = self._background, None
        while reading is not None and not reading.done():
            reading.cancel()  # again where `asyncio.wait_for` of Python 3.11 lost it to an answer of the same moment
            await asyncio.wait({reading}, timeout=CANCEL_AGAIN_S)
        if reading is not None:
            await asyncio.gather(reading, return_exceptions=True)
        if background is not None:
            background.flush()

    async def send_stop(self, by: str) -> bool:
        """
        Send STOP although no motion is open from here (safety rule R8): any state, unarmed, as often as wanted.

        Returns:
            Whether it could be put on the wire; it is recorded either way.
        """
        link, point = self.link, self._book.job.sheet.point("command_stop")
        if link is None or point is None:
            return False
        try:
            written = await link.make_safe(point.role, point.value, self.energy_view())
        except LinkError as error:
            written = Written(self._book.clock.unit_ns(), 0, Outcome.UNANSWERED, str(error))
        self._book.record(
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

    async def read(self, roles: Iterable[str]) -> Readings:
        """
        Readings of these roles, once; contact lost and back are recorded.

        Raises:
            VisitError: there is no line, or the unit does not answer.
        """
        link = self._line()
        try:
            if not link.connected and not self._in_motion():  # in a motion its own sampler opens the line again
                await link.reconnect()
            readings = await link.read(roles)
        except (LocalFault, UnitRefused) as error:
            raise VisitError(str(error)) from error
        except LinkError as error:
            if self._book.job.contact.up:
                self._book.record(ContactLost(reason=str(error)))
            raise VisitError(f"the unit does not answer: {error}") from error
        if not self._book.job.contact.up:
            self._book.record(ContactBack())
        return readings

    async def answers_again(self) -> bool:
        """Whether the unit answers now; contact back or lost is recorded."""
        try:
            await self.read((self._book.job.sheet.link.alive,))
        except VisitError:
            return False
        return True

    def energy_view(self) -> EnergyView:
        """The energy state as the write guard needs it."""
        now = self._book.job.energy_log.now
        at_rest = now.state is energy.EnergyState.CONTROL and now.target is None
        return EnergyView(now.state.value, now.generation, proved_commands(self._book.job), at_rest)

    def _energy_changed(self) -> None:
        """In control the unit is powered again: what it left unanswered before is not the line's fault."""
        was, self._state = self._state, self._book.job.energy_log.now.state
        if self.link is not None and self._state is energy.EnergyState.CONTROL and was is not self._state:
            self.link.health.count_anew()

    def _contact(self, reason: str) -> None:
        """What the background saw: contact lost and back are events, each once."""
        if reason and self._book.job.contact.up:
            self._book.record(ContactLost(reason=reason))
        elif not reason and not self._book.job.contact.up:
            self._book.record(ContactBack())

    def _line(self) -> UnitLink:
        if self.link is None:
            raise VisitError("there is no line to the unit")
        return self.link

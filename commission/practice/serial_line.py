"""
A serial line on a pseudo-terminal whose bytes take the time that a real line's would.

A pseudo-terminal refuses parity, so a client opens it 8N1; the pace is still that of the sheet's own settings (start,
eight data bits, parity if any, stop bits). The client's end stays open here too, or a client that leaves would end the
line.
"""

import asyncio
import os
import tty
from contextlib import suppress

from commission.clock import NS_PER_S, Clock
from commission.practice.server import Wire
from commission.sheet.model import LinkSettings

_CHUNK = 4
_SILENT_CHARACTERS = 3.5
_FOREIGN_TURNAROUND_S = 0.03
_SILENCE_S = 0.00175
"""Above 19200 baud the silence is fixed (Modbus over Serial Line V1.02, 2.5.1.1)."""


def character_s(link: LinkSettings) -> float:
    """Seconds that one character takes on the line."""
    bits = 1 + 8 + (link.parity != "N") + link.stop_bits
    return bits / link.baud


class SerialLine(asyncio.WriteTransport):
    """
    The line, with the unit's wire at its far end.

    Args:
        wire: The unit's end.

        link: Baud rate and character format.

        clock: Paces the bytes in wire time.

        foreign: What another master asks another unit on this line, and that unit's answer.

        foreign_s: How often, in wire time; 0 for never.
    """

    def __init__(
        self,
        wire: Wire,
        link: LinkSettings,
        clock: Clock,
        foreign: tuple[bytes, bytes] = (b"", b""),
        foreign_s: float = 0.0,
    ) -> None:
        super().__init__()
        self._foreign, self._foreign_s = foreign, foreign_s
        self._wire = wire
        self._clock = clock
        self._character_s = character_s(link)
        self._silence_s = _SILENT_CHARACTERS * self._character_s if link.baud <= 19200 else _SILENCE_S
        self._ours, self._clients = os.openpty()
        tty.setraw(self._clients)
        os.set_blocking(self._ours, False)
        self.path = os.ttyname(self._clients)
        self._incoming: asyncio.Queue[bytes] = asyncio.Queue()
        self._outgoing: asyncio.Queue[bytes] = asyncio.Queue()
        self._tasks: list[asyncio.Task[None]] = []
        self._closing = False

    def open(self) -> None:
        """Start carrying bytes."""
        loop = asyncio.get_running_loop()
        loop.add_reader(self._ours, self._readable)
        self._tasks = [loop.create_task(self._carry_in()), loop.create_task(self._carry_out())]
        if self._foreign_s:
            self._tasks.append(loop.create_task(self._carry_foreign()))
        self._wire.connection_made(self)

    def write(self, data: bytes | bytearray | memoryview) -> None:
        """An answer of the unit."""
        self._outgoing.put_nowait(bytes(data))

    def is_closing(self) -> bool:
        """Whether the line is being taken down."""
        return self._closing

    def close(self) -> None:
        """Take the line down."""
        if self._closing:
            return
        self._closing = True
        asyncio.get_running_loop().remove_reader(self._ours)
        for task in self._tasks:
            task.cancel()
        self._wire.connection_lost(None)
        os.close(self._ours)
        os.close(self._clients)

    async def closed(self) -> None:
        """Take the line down and wait for it."""
        self.close()
        for task in (*self._tasks, self._wire.task):
            if task is not None:
                with suppress(asyncio.CancelledError):
                    await task

    def _readable(self) -> None:
        with suppress(BlockingIOError):
            self._incoming.put_nowait(os.read(self._ours, 4096))

    async def _carry_in(self) -> None:
        arrived_ns = self._clock.wire_ns()
        while True:
            data = await self._incoming.get()
            now_ns = self._clock.wire_ns()
            if (now_ns - arrived_ns) / NS_PER_S > self._silence_s:
                self._wire.silence()
            arrived_ns = max(now_ns, arrived_ns) + round(len(data) * self._character_s * NS_PER_S)
            await self._clock.until_wire(arrived_ns)
            self._wire.data_received(data)

    async def _carry_foreign(self) -> None:
        """The other master and its unit: heard by whoever listens, whatever else is on the line."""
        while True:
            await self._clock.sleep_wire(self._foreign_s)
            for frame in self._foreign:
                self._outgoing.put_nowait(frame)
                await self._clock.sleep_wire(_FOREIGN_TURNAROUND_S)

    async def _carry_out(self) -> None:
        sent_ns = self._clock.wire_ns()
        while True:
            data = await self._outgoing.get()
            sent_ns = max(sent_ns, self._clock.wire_ns())
            for start in range(0, len(data), _CHUNK):
                chunk = data[start : start + _CHUNK]
                sent_ns += round(len(chunk) * self._character_s * NS_PER_S)
                await self._clock.until_wire(sent_ns)
                with suppress(BlockingIOError):
                    os.write(self._ours, chunk)

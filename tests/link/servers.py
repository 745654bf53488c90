"""
Small units for the tests of the link, with a codec of their own: none of the product's code, none of the library's.

`Device` answers PDUs out of plain dictionaries and notes when it read them. `tcp_unit` serves one over TCP framing,
`serial_unit` over a paced serial line (an asyncio socket that the serial library opens as `socket://`).
"""

import asyncio
import contextlib
import hashlib
import struct
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field

UNIT_ID = 11
IDENTITY = 1101
BAUD = 19200
CHARACTER_S = 11 / BAUD

Mangle = Callable[[bytes], list[tuple[float, bytes]]]
"""From a good answer frame to what is sent: pieces, each so many seconds after the one before."""


def crc16(data: bytes) -> bytes:
    """The two CRC bytes in wire order, bit by bit (MODBUS over Serial Line V1.02, 6.2.2)."""
    register = 0xFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ 0xA001 if register & 1 else register >> 1
    return struct.pack("<H", register)


def as_is(frame: bytes) -> list[tuple[float, bytes]]:
    """The answer unharmed."""
    return [(0.0, frame)]


@dataclass
class Device:
    """Four tables; `holes` are addresses that the unit does not have."""

    turnaround_s: float = 0.005
    inputs: dict[int, int] = field(default_factory=lambda: {0: IDENTITY} | dict.fromkeys(range(1, 32), 0))
    holdings: dict[int, int] = field(default_factory=lambda: dict.fromkeys(range(32), 0))
    coils: dict[int, int] = field(default_factory=lambda: dict.fromkeys(range(16), 0))
    discretes: dict[int, int] = field(default_factory=lambda: dict.fromkeys(range(16), 0))
    objects: Callable[[int], bytes | None] = lambda _object_id: None
    refuse_writes_with: int = 0
    hang_reads: bool = False
    acted_at: list[tuple[int, float]] = field(default_factory=list)
    """Function code and loop time of everything that was read or written."""

    def respond(self, pdu: bytes) -> bytes | None:
        """The answer, or None for silence."""
        function = pdu[0]
        if self.hang_reads and function <= 4:
            return None
        self.acted_at.append((function, asyncio.get_running_loop().time()))
        try:
            answer = self._answer(pdu)
        except KeyError:
            return bytes((function | 0x80, 2))
        return answer or bytes((function | 0x80, 1))

    def _answer(self, pdu: bytes) -> bytes | None:
        function = pdu[0]
        if function in (1, 2, 3, 4):
            return self._read(pdu)
        if function in (5, 6, 16) and self.refuse_writes_with:
            return bytes((function | 0x80, self.refuse_writes_with))
        if function in (5, 6, 16):
            return self._write(pdu)
        if function == 43:
            found = self.objects(pdu[3])
            if found is not None:
                return bytes((43, 14, 4, 0x83, 0, 0, 1, pdu[3], len(found))) + found
        return None

    def _read(self, pdu: bytes) -> bytes:
        function, first, count = struct.unpack(">BHH", pdu[:5])
        table = {1: self.coils, 2: self.discretes, 3: self.holdings, 4: self.inputs}[function]
        values = [table[address] for address in range(first, first + count)]
        if function <= 2:
            packed = sum(bit << index for index, bit in enumerate(values))
            data = packed.to_bytes(-(-count // 8), "little")
        else:
            data = struct.pack(f">{count}H", *values)
        return bytes((function, len(data))) + data

    def _write(self, pdu: bytes) -> bytes:
        function, address, value = struct.unpack(">BHH", pdu[:5])
        if function == 5:
            self.coils[address] = int(value == 0xFF00)
        elif function == 6:
            self.holdings[address] = value
        else:
            for index, word in enumerate(struct.unpack(f">{value}H", pdu[6:])):
                self.holdings[address + index] = word
        return pdu[:5]


def practice_objects(
    speed: str = "20", nonce: str = "00112233aabbccdd", wrong: int = 0
) -> Callable[[int], bytes | None]:
    """The identification objects of a practice unit; `wrong` spoils that many of the challenge's answers."""
    left = [wrong]

    def objects(object_id: int) -> bytes | None:
        if object_id == 0x80:
            return f"practice speed={speed} nonce={nonce}".encode()
        if left[0]:
            left[0] -= 1
            return b"0123456789abcdef"
        text = f"practice:{nonce}:{object_id}:{float(speed):g}"
        return hashlib.sha256(text.encode()).hexdigest()[:16].encode()

    return objects


@dataclass
class Wire:
    """A served unit: its port, its device, and what is done to its answers."""

    device: Device
    port: int = 0
    mangle: Mangle = as_is
    echo: bool = False
    requests: list[tuple[float, bytes]] = field(default_factory=list)
    writers: list[asyncio.StreamWriter] = field(default_factory=list)

    def drop_connections(self) -> None:
        """Pull the plug: every open connection is reset."""
        for writer in self.writers:
            writer.transport.abort()
        self.writers.clear()


@contextlib.asynccontextmanager
async def tcp_unit(device: Device | None = None, port: int = 0) -> AsyncIterator[Wire]:
    """A unit on TCP. Requests of one connection are answered one after another."""
    wire = Wire(device or Device())

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while True:
            header = await reader.readexactly(7)
            body = await reader.readexactly(int.from_bytes(header[4:6], "big") - 1)
            wire.requests.append((asyncio.get_running_loop().time(), header + body))
            await _answer_tcp(wire, header, body, writer)

    async with _served(wire, talk, port):
        yield wire


async def _answer_tcp(wire: Wire, header: bytes, body: bytes, writer: asyncio.StreamWriter) -> None:
    if wire.echo:
        writer.write(header + body)
    await asyncio.sleep(wire.device.turnaround_s / 2)
    answer = wire.device.respond(body) if header[6] == UNIT_ID else None
    await asyncio.sleep(wire.device.turnaround_s / 2)
    if answer is not None:
        frame = header[:4] + struct.pack(">HB", len(answer) + 1, header[6]) + answer
        for delay_s, piece in wire.mangle(frame):
            await asyncio.sleep(delay_s)
            writer.write(piece)


@contextlib.asynccontextmanager
async def serial_unit(device: Device | None = None, port: int = 0) -> AsyncIterator[Wire]:
    """A unit on a serial line of 19200 baud: bytes take their time both ways. Open it as `socket://127.0.0.1:port`."""
    wire = Wire(device or Device())

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while True:
            frame = await _serial_request(reader)
            began_s = asyncio.get_running_loop().time()
            wire.requests.append((began_s, frame))
            await asyncio.sleep(len(frame) * CHARACTER_S)
            if wire.echo:
                writer.write(frame)
            await asyncio.sleep(wire.device.turnaround_s / 2)
            good = frame[0] == UNIT_ID and crc16(frame[:-2]) == frame[-2:]
            answer = wire.device.respond(frame[1:-2]) if good else None
            await asyncio.sleep(wire.device.turnaround_s / 2)
            if answer is not None:
                await _paced(wire, frame[:1] + answer, writer)

    async with _served(wire, talk, port):
        yield wire


async def _paced(wire: Wire, body: bytes, writer: asyncio.StreamWriter) -> None:
    for delay_s, piece in wire.mangle(body + crc16(body)):
        await asyncio.sleep(delay_s)
        for at in range(0, len(piece), 4):
            chunk = piece[at : at + 4]
            await asyncio.sleep(len(chunk) * CHARACTER_S)
            writer.write(chunk)


async def _serial_request(reader: asyncio.StreamReader) -> bytes:
    head = await reader.readexactly(2)
    if head[1] in (15, 16):
        head += await reader.readexactly(5)
        return head + await reader.readexactly(head[6] + 2)
    return head + await reader.readexactly(5 if head[1] == 43 else 6)


@contextlib.asynccontextmanager
async def _served(
    wire: Wire, talk: Callable[[asyncio.StreamReader, asyncio.StreamWriter], Awaitable[None]], port: int
) -> AsyncIterator[None]:
    tasks: set[asyncio.Task[None]] = set()

    async def connected(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        tasks.add(task)
        wire.writers.append(writer)
        try:
            await talk(reader, writer)
        except (asyncio.IncompleteReadError, ConnectionError, asyncio.CancelledError):
            pass
        finally:
            tasks.discard(task)
            writer.transport.abort()

    server = await asyncio.start_server(connected, "127.0.0.1", port)
    wire.port = server.sockets[0].getsockname()[1]
    try:
        yield
    finally:
        server.close()
        for task in list(tasks):
            task.cancel()
        await asyncio.sleep(0.01)
        await server.wait_closed()

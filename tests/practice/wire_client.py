"""A Modbus client made of sockets and struct alone, so that nothing of ours or of a library's hides a wrong frame."""

import asyncio
import struct


class RawClient:
    """One TCP connection, one request at a time."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader, self._writer, self._number = reader, writer, 0

    @classmethod
    async def connect(cls, url: str) -> "RawClient":
        """Connect to a tcp:// URL."""
        host, port = url.split("//")[1].split("?", maxsplit=1)[0].split(":")
        return cls(*await asyncio.open_connection(host, int(port)))

    def send(self, pdu: bytes, unit: int = 11) -> int:
        """Send one request; returns its transaction number."""
        self._number += 1
        self._writer.write(struct.pack(">HHHB", self._number, 0, len(pdu) + 1, unit) + pdu)
        return self._number

    async def receive(self, timeout_s: float = 1.0) -> tuple[int, bytes]:
        """Transaction number and PDU of the next answer; TimeoutError on silence."""
        async with asyncio.timeout(timeout_s):
            number, protocol, length, _unit = struct.unpack(">HHHB", await self._reader.readexactly(7))
            assert protocol == 0
            return number, await self._reader.readexactly(length - 1)

    async def ask(self, pdu: bytes, unit: int = 11, timeout_s: float = 1.0) -> bytes:
        """One request and its answer."""
        number = self.send(pdu, unit)
        answered, reply = await self.receive(timeout_s)
        assert answered == number
        return reply

    async def registers(self, function: int, address: int, count: int) -> tuple[int, ...]:
        """Registers of a table."""
        reply = await self.ask(struct.pack(">BHH", function, address, count))
        assert reply[0] == function, reply.hex()
        return struct.unpack(f">{count}H", reply[2:])

    async def pulse(self, coil: int) -> bytes:
        """Write a coil; the whole answer."""
        return await self.ask(struct.pack(">BHH", 5, coil, 0xFF00))

    async def identify(self, object_id: int, read_code: int = 4) -> bytes:
        """Read Device Identification; the whole answer."""
        return await self.ask(bytes([0x2B, 0x0E, read_code, object_id]))

    async def close(self) -> None:
        """Hang up."""
        self._writer.close()
        await self._writer.wait_closed()

"""
The practice unit on a paced serial line whose bytes travel over a socket, for virtual time.

A pseudo-terminal hands its bytes over when the kernel finds the time, which virtual time cannot wait for; loopback does
at once. The client opens it as `socket://`, with the same frames, pace and silences as on a line.
"""

import asyncio
import contextlib
import socket
import types
from collections.abc import AsyncIterator, Iterator
from typing import Any
from unittest.mock import patch

from serial.urlhandler import protocol_socket

from commission.practice.serial_line import character_s
from commission.practice.server import UnitServer, rtu_wire
from commission.sheet.model import LinkSettings

_CHUNK = 4
_SILENT_CHARACTERS = 3.5


class _Paced(asyncio.WriteTransport):
    """What the unit writes, at the pace of the line."""

    def __init__(self, writer: asyncio.StreamWriter, byte_s: float) -> None:
        super().__init__()
        self._writer = writer
        self._byte_s = byte_s
        self._waiting: asyncio.Queue[bytes] = asyncio.Queue()

    def write(self, data: bytes | bytearray | memoryview) -> None:
        """An answer of the unit."""
        self._waiting.put_nowait(bytes(data))

    def is_closing(self) -> bool:
        """Whether it is being taken down."""
        return self._writer.transport.is_closing()

    async def carry(self) -> None:
        """Hand the bytes over as they would arrive."""
        while True:
            data = await self._waiting.get()
            for start in range(0, len(data), _CHUNK):
                chunk = data[start : start + _CHUNK]
                await asyncio.sleep(len(chunk) * self._byte_s)
                self._writer.write(chunk)


@contextlib.asynccontextmanager
async def serial_over_socket(server: UnitServer, link: LinkSettings) -> AsyncIterator[str]:
    """Serve a unit so; the device for the client, as `socket://127.0.0.1:port`."""
    byte_s = character_s(link)
    tasks: set[asyncio.Task[None]] = set()

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        tasks.add(task)
        writer.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        wire, transport = rtu_wire(server), _Paced(writer, byte_s)
        wire.connection_made(transport)
        carrying = asyncio.ensure_future(transport.carry())
        loop = asyncio.get_running_loop()
        arrived_s = loop.time()
        try:
            while data := await reader.read(4096):
                if loop.time() - arrived_s > _SILENT_CHARACTERS * byte_s:
                    wire.silence()
                await asyncio.sleep(len(data) * byte_s)
                arrived_s = loop.time()
                wire.data_received(data)
        except (ConnectionError, asyncio.CancelledError):
            pass
        finally:
            carrying.cancel()
            wire.connection_lost(None)
            await asyncio.gather(carrying, *([wire.task] if wire.task else []), return_exceptions=True)
            writer.transport.abort()
            tasks.discard(task)

    with _like_a_serial_port():
        listener = await asyncio.start_server(talk, "127.0.0.1", 0)
        try:
            yield f"socket://127.0.0.1:{listener.sockets[0].getsockname()[1]}"
        finally:
            listener.close()
            for task in list(tasks):
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            await listener.wait_closed()


@contextlib.contextmanager
def _like_a_serial_port() -> Iterator[None]:
    """Closing takes no nap of real time, and no frame is held back until the one before is acknowledged."""
    plain_open = protocol_socket.Serial.open

    def open_without_delay(port: Any) -> None:
        plain_open(port)
        port._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    awake = types.SimpleNamespace(sleep=lambda _seconds: None)
    with (
        patch.object(protocol_socket, "time", awake),
        patch.object(protocol_socket.Serial, "open", open_without_delay),
    ):
        yield

"""
The people on site, played by another process: one JSON object a line in, one out, on a local TCP port.

`{"act": "motor_isolator", "value": false}`, `{"act": "bleed", "which": "BV-1", "value": true}` do something and get
`{"done": true}`; `{"read": "gauges"}` looks and gets `{"value": …}`; what cannot be done gets `{"error": "why"}`.
"""

import asyncio
import json

import msgspec

from commission.practice.acts import Act
from commission.practice.site import SiteDesk

_HOST = "127.0.0.1"


def reply_to(desk: SiteDesk, line: bytes) -> dict[str, object]:
    """The answer to one line."""
    try:
        request = json.loads(line)
        if not isinstance(request, dict) or ("act" in request) == ("read" in request):
            return {"error": 'expected {"act": …, "value": …} or {"read": …}'}
        if "read" in request:
            return {"value": desk.read(str(request["read"]))}
        desk.perform(msgspec.convert({"name": request.pop("act"), **request}, Act))
    except (ValueError, msgspec.MsgspecError) as error:  # JSON and acts raise kinds of ValueError
        return {"error": str(error)}
    return {"done": True}


class ControlPort:
    """
    The port of one unit's site desk.

    Args:
        desk: Who does it.
    """

    def __init__(self, desk: SiteDesk) -> None:
        self._desk = desk
        self._server: asyncio.Server | None = None
        self._writers: set[asyncio.StreamWriter] = set()
        self._tasks: set[asyncio.Task[None]] = set()

    async def open(self) -> str:
        """Listen on a free local port; returns host:port."""
        self._server = await asyncio.start_server(self._begin, _HOST, 0)
        return f"{_HOST}:{self._server.sockets[0].getsockname()[1]}"

    async def close(self) -> None:
        """Hang up and wait until it is down."""
        for writer in list(self._writers):
            writer.close()
        if self._server is not None:
            self._server.close()
            await self._server.wait_closed()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    def _begin(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.get_running_loop().create_task(self._serve(reader, writer))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._writers.add(writer)
        try:
            while line := await reader.readline():
                writer.write(json.dumps(reply_to(self._desk, line)).encode() + b"\n")
                await writer.drain()
        except (ConnectionError, ValueError):
            pass  # a client that vanished, or sent a line without end
        finally:
            self._writers.discard(writer)
            writer.close()

"""
The unit on a wire: requests in, answers out, after the unit's own turnaround.

Framing and message codec are the Modbus library's; queueing is ours, one request at a time and each answer under its
own transaction, because the library's server answers under whichever request came last when two overlap.
"""

import asyncio
from collections.abc import Callable
from contextlib import suppress

from pymodbus.constants import ExcCodes
from pymodbus.exceptions import ModbusIOException
from pymodbus.framer import FramerBase, FramerRTU, FramerSocket
from pymodbus.pdu import DecodePDU, ExceptionResponse, ModbusPDU
from pymodbus.pdu.mei_message import ReadDeviceInformationRequest, ReadDeviceInformationResponse
from pymodbus.pdu.register_message import ReadInputRegistersRequest, ReadInputRegistersResponse
from pymodbus.simulator import DataType, SimData, SimDevice
from pymodbus.simulator.simcore import SimCore

from commission.practice.device import Device, Fault, ModbusFault, TableName
from commission.practice.fate import Fate, FaultHook, no_fault
from commission.practice.identification import Identification
from commission.practice.lifetime import Lifetime

TURNAROUND_S = 0.010

_TABLES = {1: TableName.COIL, 5: TableName.COIL, 15: TableName.COIL, 2: TableName.DISCRETE, 4: TableName.INPUT}
_OF_TABLES = frozenset({1, 2, 3, 4, 5, 6, 15, 16, 22, 23})
"""Functions that read or write a unit's tables."""

_BASIC_IDS = range(3)
_INDIVIDUAL = 4
_BIGGEST_FRAME = 260


class _Store(SimCore):
    """The library's way to values, led to the unit instead of to stored registers."""

    def __init__(self, device: Device) -> None:
        super().__init__(SimDevice(id=1, simdata=SimData(0, values=[0], datatype=DataType.REGISTERS)))
        self._device = device

    async def async_getValues(  # noqa: N802  # the library's name
        self, device_id: int, func_code: int, address: int, count: int = 1
    ) -> list[int] | list[bool] | ExcCodes:
        """Registers or bits of the unit."""
        del device_id
        table = _TABLES.get(func_code, TableName.HOLDING)
        try:
            words = self._device.read(table, address, count)
        except ModbusFault as fault:
            return ExcCodes(fault.code)
        return [bool(word) for word in words] if func_code in (1, 2, 5, 15) else words

    async def async_setValues(  # noqa: N802  # the library's name
        self, device_id: int, func_code: int, address: int, values: list[int] | list[bool]
    ) -> ExcCodes | None:
        """Write to the unit."""
        del device_id
        try:
            self._device.write(_TABLES.get(func_code, TableName.HOLDING), address, [int(value) for value in values])
        except ModbusFault as fault:
            return ExcCodes(fault.code)
        return None


class UnitServer:
    """
    Answers for one unit, whatever the wire.

    Args:
        device: The unit as the link sees it.

        life: Its clock.

        identification: What it says it is.

        fault: What becomes of each answer.

        neighbour: Another unit that has the same address on the same line, and so obeys whatever this one is told.
    """

    def __init__(
        self,
        device: Device,
        life: Lifetime,
        identification: Identification,
        fault: FaultHook = no_fault,
        neighbour: "UnitServer | None" = None,
    ) -> None:
        self._device = device
        self.life = life
        self._store = _Store(device)
        self._identification = identification
        self._fault = fault
        self._neighbour = neighbour
        self._requests = 0

    async def answer(self, request: ModbusPDU, build: Callable[[ModbusPDU], bytes]) -> bytes | None:
        """
        The frame that answers a request, after turnaround; empty for silence, None where the connection is cut.

        A request for another unit, and any request while the control supply is off, gets no answer at all.
        """
        unit = self._device.unit
        if request.dev_id != unit.sheet.link.unit_id:
            return b""
        self.life.asked()
        self._requests += 1
        fate = self._fault(self._requests, request.function_code)
        await self.life.clock.sleep_unit(TURNAROUND_S + self._device.manners.slow_s)
        self.life.catch_up()
        if not unit.side.control_on or unit.side.link_cut:
            return b""
        if fate.reset:
            return None
        reply = await self._reply(request, fate)
        reply.dev_id, reply.transaction_id = request.dev_id, request.transaction_id
        if fate.wrong_id:
            reply.dev_id = request.dev_id % 247 + 1
        frame = build(reply)
        if fate.delay_s:
            await self.life.clock.sleep_wire(fate.delay_s)
        if fate.drop:
            return b""
        if fate.alter:
            frame = fate.alter(frame)
        return build(request) + frame if fate.echo else frame

    async def _reply(self, request: ModbusPDU, fate: Fate) -> ModbusPDU:
        if fate.exception:
            return ExceptionResponse(request.function_code, fate.exception)
        own = await self._do(request)
        if self._neighbour is None or request.function_code not in _OF_TABLES:
            return own
        self._neighbour.life.catch_up()
        other = await self._neighbour._do(request)  # noqa: SLF001  # its own kind
        return other if fate.neighbour else own

    async def _do(self, request: ModbusPDU) -> ModbusPDU:
        if isinstance(request, ReadDeviceInformationRequest):
            return self._identify(request)
        if request.function_code not in _OF_TABLES:
            return ExceptionResponse(request.function_code, Fault.ILLEGAL_FUNCTION)
        # The store stands where the library's own stores do; its annotation still names the oldest of them.
        return await request.datastore_update(self._store, request.dev_id)  # type: ignore[arg-type]

    def _identify(self, request: ReadDeviceInformationRequest) -> ModbusPDU:
        individual = request.read_code == _INDIVIDUAL
        wanted = [request.object_id] if individual else list(_BASIC_IDS)
        objects = {number: self._identification.object(number) for number in wanted}
        if None in objects.values():
            return ExceptionResponse(request.function_code, Fault.ILLEGAL_ADDRESS)
        if not 1 <= request.read_code <= _INDIVIDUAL:
            return ExceptionResponse(request.function_code, Fault.ILLEGAL_VALUE)
        return ReadDeviceInformationResponse(read_code=request.read_code, information=objects)


class Wire(asyncio.Protocol):
    """
    One connection: cuts bytes into requests and answers them in order.

    Args:
        server: Who answers.

        framer: How frames look on this wire.

        closed: Told when the connection has gone.
    """

    def __init__(self, server: UnitServer, framer: FramerBase, closed: Callable[["Wire"], None]) -> None:
        self._server = server
        self._framer = framer
        self._closed = closed
        self._buffer = b""
        self._queue: asyncio.Queue[ModbusPDU] = asyncio.Queue()
        self._transport: asyncio.WriteTransport | None = None
        self.task: asyncio.Task[None] | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Start answering."""
        if not isinstance(transport, asyncio.WriteTransport):
            raise TypeError("a wire must be writable")
        self._transport = transport
        self.task = asyncio.get_running_loop().create_task(self._answer_all())

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop answering."""
        del exc
        if self.task is not None:
            self.task.cancel()
        self._closed(self)

    def data_received(self, data: bytes) -> None:
        """Bytes from the client."""
        self._buffer += data
        while self._buffer:
            try:
                used, request = self._framer.handleFrame(self._buffer, 0, 0)
            except ModbusIOException:
                self._buffer = b""
                return
            self._buffer = self._buffer[used:]
            if request is None:
                break
            self._queue.put_nowait(request)
        if len(self._buffer) > _BIGGEST_FRAME:
            self._buffer = b""

    def silence(self) -> None:
        """A silence on a serial line ends whatever frame was begun (Serial Line V1.02, 2.5.1.1)."""
        self._buffer = b""

    def hang_up(self) -> None:
        """Close from this side; a serial line has nothing to close."""
        if isinstance(self._transport, asyncio.Transport):
            self._transport.close()

    async def _answer_all(self) -> None:
        while self._transport is not None:
            frame = await self._server.answer(await self._queue.get(), self._framer.buildFrame)
            if frame is None:
                self.hang_up()
            elif frame and not self._transport.is_closing():
                self._transport.write(frame)


def foreign_frames(unit_id: int) -> tuple[bytes, bytes]:
    """What another master asks another unit of a serial line, and that unit's answer."""
    framer = FramerRTU(DecodePDU(True))  # noqa: FBT003  # the library's "is server"
    other = unit_id % 247 + 1
    asked = ReadInputRegistersRequest(dev_id=other, address=0, count=4)
    return framer.buildFrame(asked), framer.buildFrame(ReadInputRegistersResponse(dev_id=other, registers=[1, 2, 3, 4]))


def rtu_wire(server: UnitServer) -> Wire:
    """A wire with the frames of a serial line."""
    return Wire(server, FramerRTU(DecodePDU(True)), lambda _wire: None)  # noqa: FBT003  # the library's "is server"


class TcpListener:
    """
    Modbus TCP for one unit.

    Args:
        server: Who answers.
    """

    def __init__(self, server: UnitServer) -> None:
        self._server = server
        self._wires: set[Wire] = set()
        self._listener: asyncio.Server | None = None

    async def open(self, host: str, port: int) -> int:
        """
        Listen; port 0 takes a free one. Returns the port.

        Raises:
            OSError: the address cannot be used.
        """
        self._listener = await asyncio.get_running_loop().create_server(self._new_wire, host, port)
        return int(self._listener.sockets[0].getsockname()[1])

    async def close(self) -> None:
        """Hang up everything and wait until it is down."""
        tasks = [wire.task for wire in self._wires if wire.task is not None]
        for wire in list(self._wires):
            wire.hang_up()
        if self._listener is not None:
            self._listener.close()
            await self._listener.wait_closed()
        for task in tasks:
            with suppress(asyncio.CancelledError):
                await task

    def _new_wire(self) -> Wire:
        wire = Wire(self._server, FramerSocket(DecodePDU(True)), self._wires.discard)  # noqa: FBT003  # "is server"
        self._wires.add(wire)
        return wire

"""
One wire to one unit: the only module that touches the Modbus client.

Three lanes (`lanes`): make-safe, command, read. On TCP a make-safe write cancels what is in flight and goes at once. On
a serial line it waits for the frame in flight, at most the test time-out, then the 3.5-character gap, and skips the
quiet time. Everything else goes one at a time, is never repeated, and after a time-out, a cancelled request or
a wrong answer waits until no late answer can come any more. Every byte that arrives passes `wiretap` first.
"""

import asyncio
import logging
import math
import sys
import traceback
from collections.abc import Awaitable, Callable, Iterable

import msgspec
from pymodbus import ModbusException
from pymodbus.client import AsyncModbusSerialClient, AsyncModbusTcpClient
from pymodbus.pdu import ModbusPDU

from commission.clock import NS_PER_S, Clock
from commission.link.faults import ACKNOWLEDGED, BadAnswer, LinkError, NoAnswer, NotConnected, Overtaken, UnitRefused
from commission.link.health import Health
from commission.link.lanes import Lane
from commission.link.plan import answer_bytes
from commission.link.serial_timing import actual_character_s, character_s, gap_s
from commission.link.turns import Cut, Flight, Turns
from commission.link.url import Address, SerialAddress
from commission.link.wiretap import Expected, Window, Wiretap
from commission.sample import Block, BlockRead, Outcome, Table, Written
from commission.sheet.model import LinkSettings

_PORT_ERRORS: tuple[type[Exception], ...] = (OSError, ValueError)
if sys.platform != "win32":
    import termios

    _PORT_ERRORS += (termios.error,)  # no OSError: a pseudo-terminal refuses parity with it

logging.getLogger("pymodbus_internal").addHandler(logging.NullHandler())  # it would print frames on the screen

_CONNECT_S = 3.0
_NEVER_S = 3600.0
"""The library's own time-out, kept out of the way of ours."""

_ADAPTER_S = 0.02
"""A serial adapter hands bytes over up to 16 ms late (the usual latency timer); allowed for in each time-out."""

_WRITE_COIL, _WRITE_REGISTER, _WRITE_REGISTERS = 5, 6, 16
_READ_FUNCTIONS = {Table.COIL: 1, Table.DISCRETE: 2, Table.HOLDING: 3, Table.INPUT: 4}
_LONGEST_REQUEST_BYTES = 13
"""Writing one 32-bit value; a read request or a write of one coil or register has 8."""

_WRITE_BYTES = 8
_RTU_FRAME_BYTES = 3
"""Unit identifier and CRC around a PDU."""

_LONGEST_ANSWER_BYTES = 256
"""A serial frame at its longest (MODBUS over Serial Line V1.02, 2.3)."""

_LONGEST_READ = (Block(Table.HOLDING, 0, 125),)

Client = AsyncModbusSerialClient | AsyncModbusTcpClient
Request = Callable[[Client], Awaitable[ModbusPDU]]


class Line:
    """
    The wire.

    Args:
        address: Where the unit is.

        settings: The sheet's link settings; what the address says wins over them.

        clock: The session's clock.

        health: Where exchanges are counted.
    """

    def __init__(self, address: Address, settings: LinkSettings, clock: Clock, health: Health) -> None:
        self.settings = settings_for(address, settings)
        self.rtu = isinstance(address, SerialAddress)
        self.clock = clock
        self.health = health
        self.test_timeout_s = 0.25
        self._address = address
        self._tap = Wiretap(clock.wire_ns, rtu=self.rtu, byte_s=actual_character_s(self.settings) if self.rtu else 0.0)
        self._turns = Turns(clock)
        self._client: Client | None = None

    @property
    def connected(self) -> bool:
        """Whether a port or socket is open."""
        return self._client is not None and self._client.connected

    @property
    def echo(self) -> bool:
        """Whether our own frames come back (a two-wire adapter, or no unit at all: safety rule R12)."""
        return self._tap.echo

    @property
    def patient_timeout_s(self) -> float:
        """How long an answer may take outside a test: longer than the slowest the sheet names."""
        return self.settings.slowest_reply_s * 1.1 + _ADAPTER_S

    def make_safe_s(self, blocks: Iterable[Block] = _LONGEST_READ) -> float:
        """
        Longest time from a make-safe write to its last byte at the unit, in wire time.

        Args:
            blocks: What may be in flight; the longest read there is by default.
        """
        if not self.rtu:
            return self.test_timeout_s / 3
        in_flight_s = max(frames_s(answer_bytes(block), self.settings) for block in blocks)
        own_s = _WRITE_BYTES * character_s(self.settings.baud)
        return self.test_timeout_s + in_flight_s + 2 * gap_s(self.settings.baud) + own_s + _ADAPTER_S

    def quiet_left_s(self) -> float:
        """Seconds of wire time for which the line still stays quiet after a failure; 0 or less where it does not."""
        return self._turns.quiet_left_s()

    async def connect(self) -> None:
        """
        Open the port or socket, closing an earlier one.

        Raises:
            NotConnected: it cannot be opened.
        """
        await self.close()
        self._tap.echo = False
        client = _client_for(self._address, self.settings, self._trace, self._lost)
        client.set_max_no_responses(10**9)  # else TCP closes itself at the fifth silence in a row
        try:
            async with asyncio.timeout(_CONNECT_S):
                opened = await client.connect()
        except TimeoutError:
            opened = False
        except _PORT_ERRORS as error:
            traceback.clear_frames(error.__traceback__)  # they hold a half-open port, which stays locked
            raise NotConnected(f"{self._address.text} cannot be opened: {error}{self._parity_hint()}") from error
        if not opened:
            client.close()
            raise NotConnected(f"{self._address.text} cannot be opened: is it the right port, and is it free?")
        self._client = client
        await asyncio.sleep(0)

    def _parity_hint(self) -> str:
        """A pseudo-terminal refuses parity with an error that names nothing."""
        return "; a virtual port takes parity=N only" if self.rtu and self.settings.parity != "N" else ""

    async def close(self) -> None:
        """Close the port or socket; closing twice is harmless."""
        client, self._client = self._client, None
        if client is not None:
            client.close()
            await asyncio.sleep(0)
            await asyncio.sleep(0)

    async def read(self, block: Block, lane: Lane = Lane.READ, timeout_s: float | None = None) -> BlockRead:
        """
        The words of one block, with when the unit read them.

        Args:
            block: What to read.

            lane: How urgent it is.

            timeout_s: Longest wait for the unit, in wire time, beside the frames' own; the patient one if None.

        Raises:
            WireFault: any of its kinds.
        """
        function = _READ_FUNCTIONS[block.table]
        bits = block.table.holds_bits
        pdu_bytes = 2 + (-(-block.count // 8) if bits else 2 * block.count)
        expected = Expected(self.settings.unit_id, function, pdu_bytes)
        answer, window = await self._look(_read_request(block, expected.unit_id), expected, lane, timeout_s)
        if answer.isError():
            raise UnitRefused(answer.exception_code, block.table, block.address, block.count)
        words = tuple(int(word) for word in (answer.bits[: block.count] if bits else answer.registers))
        if len(words) != block.count:
            self._go_quiet()
            raise BadAnswer(f"{len(words)} values came where {block.count} were asked")
        at_ns, half_width_ns = self._in_unit_time(window)
        return BlockRead(at_ns, half_width_ns, words)

    async def write(self, table: Table, address: int, words: tuple[int, ...], lane: Lane = Lane.COMMAND) -> Written:
        """
        Write one coil, one holding register, or a run of holding registers, once.

        Args:
            table: Coil or holding.

            address: As on the wire.

            words: What to write; a make-safe write is one word.

            lane: Make-safe or command.

        Returns:
            What came back. None of it says that the unit has acted.

        Raises:
            NotConnected: nothing was sent.
        """
        function = _write_function(table, words)
        if lane is Lane.MAKE_SAFE and function == _WRITE_REGISTERS:
            raise ValueError("a make-safe write is one coil or one register")
        expected = Expected(self.settings.unit_id, function, 5, seek=lane is Lane.MAKE_SAFE)
        request = _write_request(table, address, words, expected.unit_id)
        try:
            answer, window = await self._ask(request, expected, lane, None)
        except NotConnected:
            raise
        except LinkError as fault:
            at_ns, half_width_ns = self._in_unit_time(self._tap.window())
            return Written(at_ns, half_width_ns, Outcome.UNANSWERED, str(fault))
        at_ns, half_width_ns = self._in_unit_time(window)
        if not answer.isError():
            return Written(at_ns, half_width_ns, Outcome.ANSWERED, _difference(answer, function, words))
        refusal = UnitRefused(answer.exception_code, table, address, len(words))
        outcome = Outcome.ANSWERED if refusal.code == ACKNOWLEDGED else Outcome.REFUSED
        return Written(at_ns, half_width_ns, outcome, str(refusal), refusal.code)

    async def identification(self, object_id: int) -> bytes:
        """
        One object of Read Device Identification by individual access (Modbus Application Protocol V1.1b3, 6.21).

        Raises:
            WireFault: any of its kinds; `UnitRefused` where the unit has no such object.
        """
        unit_id = self.settings.unit_id
        answer, _ = await self._look(
            lambda client: client.read_device_information(read_code=4, object_id=object_id, device_id=unit_id),
            Expected(unit_id, 43, None),
            Lane.READ,
            None,
        )
        if answer.isError():
            raise UnitRefused(answer.exception_code)
        found = getattr(answer, "information", {}).get(object_id)
        if not isinstance(found, bytes):
            raise BadAnswer(f"the identification that came has no object {object_id:#04x}")
        return found

    async def _look(
        self, request: Request, expected: Expected, lane: Lane, timeout_s: float | None
    ) -> tuple[ModbusPDU, Window]:
        """
        As `_ask`, for what writes nothing: a cancellation that came with the answer is obeyed.

        `asyncio.wait_for` of Python 3.11, which the library waits with, forgets it then, and whoever reads in a loop
        would read for ever. The answer to a write is told all the same: what was sent must be known.
        """
        before = _cancellations()
        answer = await self._ask(request, expected, lane, timeout_s)
        if _cancellations() > before:
            raise asyncio.CancelledError
        return answer

    async def _ask(
        self, request: Request, expected: Expected, lane: Lane, timeout_s: float | None
    ) -> tuple[ModbusPDU, Window]:
        await self._turns.enter(lane)
        try:
            return await self._exchange(request, expected, lane, timeout_s or self.patient_timeout_s)
        except LinkError as fault:
            self.health.failed(type(fault).__name__)
            raise
        finally:
            self._turns.leave()

    async def _exchange(
        self, request: Request, expected: Expected, lane: Lane, timeout_s: float
    ) -> tuple[ModbusPDU, Window]:
        client = self._client
        if client is None or not client.connected:
            raise NotConnected(f"{self._address.text} is not connected")
        if self.rtu:
            await self.clock.until_wire(self._tap.last_byte_ns + round(gap_s(self.settings.baud) * NS_PER_S))
        pdu_bytes = expected.pdu_bytes or _LONGEST_ANSWER_BYTES - _RTU_FRAME_BYTES
        wire_s = frames_s(pdu_bytes + _RTU_FRAME_BYTES, self.settings) if self.rtu else 0.0
        self._tap.arm(expected, lambda: self._turns.cut(Cut.WRONG))
        whole = False
        try:
            async with asyncio.timeout(timeout_s + wire_s) as scope:
                now_s = asyncio.get_running_loop().time()
                yields_s = now_s + self.test_timeout_s + wire_s if self.rtu else now_s
                self._turns.flight = Flight(lane, scope, yields_s)
                answer = await request(client)
            whole = True
        except TimeoutError as error:
            raise self._why_nothing_came(timeout_s) from error
        except ModbusException as error:
            raise NotConnected(f"{self._address.text} is not connected") from error
        finally:
            self._tap.disarm()
            if not whole:
                self._after_failure()
        if self._tap.sent_ns is not None:
            self.health.answered((self._tap.last_byte_ns - self._tap.sent_ns) / NS_PER_S)
        return answer, self._tap.window()

    def _lost(self, connected: bool) -> None:  # noqa: FBT001  # the library's own signature
        if not connected:
            self._turns.cut(Cut.LOST)

    def _why_nothing_came(self, timeout_s: float) -> LinkError:
        cut = self._turns.flight.cut if self._turns.flight else None
        if cut is Cut.OVERTAKEN:
            return Overtaken("given up for a command that makes safe")
        if cut is Cut.LOST:
            return NoAnswer("the connection was lost before an answer came")
        if self._tap.wrong:
            return BadAnswer(f"{self._tap.wrong}; it has been dropped")
        part = ", only part of one" if self._tap.answer_began else ""
        return NoAnswer(f"no answer within {timeout_s:.2f} s{part}")

    def _after_failure(self) -> None:
        """On TCP our own giving up leaves no trap: the transaction number tells a late answer from the right one."""
        flight = self._turns.flight
        if not self.rtu and flight is not None and not self._tap.wrong:
            given_up = not flight.scope.expired() or flight.cut is Cut.OVERTAKEN
            if given_up:
                return
        self._go_quiet()

    def _go_quiet(self) -> None:
        """Nothing but make-safe may go until the slowest answer to what was sent has come and been dropped."""
        if self._tap.sent_ns is None:
            return
        answer_s = _LONGEST_ANSWER_BYTES * character_s(self.settings.baud) if self.rtu else 0.0
        quiet_s = self.settings.slowest_reply_s * 1.25 + _ADAPTER_S + answer_s
        self._turns.stay_quiet_until(self._tap.last_byte_ns + round(quiet_s * NS_PER_S))

    def _in_unit_time(self, window: Window) -> tuple[int, int]:
        middle_ns = (window.begin_ns + window.end_ns) // 2
        half_ns = math.ceil((window.end_ns - window.begin_ns) / 2 * self.clock.speed) + 1
        return self.clock.unit_of_wire(middle_ns), half_ns

    def _trace(self, sending: bool, data: bytes) -> bytes:  # noqa: FBT001  # the library's own signature
        if sending:
            self._tap.sending(data)
            return data
        return self._tap.received(data)


def _cancellations() -> int:
    """How often the running task was told to end and has not been told to stay; time-outs that are over count not."""
    task = asyncio.current_task()
    return 0 if task is None else task.cancelling()


def settings_for(address: Address, settings: LinkSettings) -> LinkSettings:
    """The sheet's link settings with what the address says in their place."""
    given = {"unit_id": address.unit_id, "protocol": "tcp"}
    if isinstance(address, SerialAddress):
        given = {
            "unit_id": address.unit_id,
            "baud": address.baud,
            "parity": address.parity,
            "stop_bits": address.stop_bits,
            "protocol": "rtu",
        }
    return msgspec.structs.replace(settings, **{name: value for name, value in given.items() if value is not None})


def _difference(answer: ModbusPDU, function: int, words: tuple[int, ...]) -> str:
    """
    What a write's answer shows if it is not what was written, in words.

    The standard's answer repeats the request (Modbus Application Protocol V1.1b3, 6.5, 6.6), but units that clear a
    command by themselves or clamp a setting answer with what they hold.
    """
    shown = answer.bits if function == _WRITE_COIL else answer.registers
    if function == _WRITE_REGISTERS or not shown or int(shown[0]) == words[0]:
        return ""
    return f"the answer shows {int(shown[0])}, not the {words[0]} that was written"


def _read_request(block: Block, unit_id: int) -> Request:
    address, count = block.address, block.count
    match block.table:
        case Table.COIL:
            return lambda client: client.read_coils(address, count=count, device_id=unit_id)
        case Table.DISCRETE:
            return lambda client: client.read_discrete_inputs(address, count=count, device_id=unit_id)
        case Table.HOLDING:
            return lambda client: client.read_holding_registers(address, count=count, device_id=unit_id)
        case Table.INPUT:
            return lambda client: client.read_input_registers(address, count=count, device_id=unit_id)


def _write_function(table: Table, words: tuple[int, ...]) -> int:
    if table is Table.COIL:
        return _WRITE_COIL
    return _WRITE_REGISTER if len(words) == 1 else _WRITE_REGISTERS


def _write_request(table: Table, address: int, words: tuple[int, ...], unit_id: int) -> Request:
    if unit_id == 0:
        raise ValueError("unit identifier 0 is never written")
    if table is Table.COIL:
        return lambda client: client.write_coil(address, bool(words[0]), device_id=unit_id)
    if table is not Table.HOLDING:
        raise ValueError(f"a {table} cannot be written")
    if len(words) == 1:
        return lambda client: client.write_register(address, words[0], device_id=unit_id)
    return lambda client: client.write_registers(address, list(words), device_id=unit_id)


def frames_s(answer_frame_bytes: int, settings: LinkSettings) -> float:
    """Seconds that the longest request and an answer frame of this length take on a serial line."""
    return (_LONGEST_REQUEST_BYTES + answer_frame_bytes) * character_s(settings.baud)


def _client_for(
    address: Address,
    settings: LinkSettings,
    trace: Callable[[bool, bytes], bytes],
    lost: Callable[[bool], None],
) -> Client:
    """A client that never repeats and never reconnects by itself: its repeats would send a write again."""
    if isinstance(address, SerialAddress):
        return AsyncModbusSerialClient(
            address.device,
            baudrate=settings.baud,
            parity=settings.parity,
            stopbits=settings.stop_bits,
            timeout=_NEVER_S,
            retries=0,
            reconnect_delay=0,
            trace_packet=trace,
            trace_connect=lost,
        )
    return AsyncModbusTcpClient(
        address.host,
        port=address.port,
        timeout=_NEVER_S,
        retries=0,
        reconnect_delay=0,
        trace_packet=trace,
        trace_connect=lost,
    )

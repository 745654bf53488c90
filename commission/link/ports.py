"""
Serial ports: which there are, whether somebody is talking already, at which setting a unit answers (safety rule R16).

Searching sends only reads, one try a setting, and is refused where foreign traffic was heard.
"""

from collections.abc import AsyncIterator, Iterable

import msgspec
import serial
from serial.tools import list_ports as _system_ports

from commission.clock import NS_PER_S, Clock
from commission.link.faults import LineInUse, LinkError, NotConnected, SearchRefused, UnitRefused
from commission.link.health import Health
from commission.link.line import Line
from commission.link.url import Address, SerialAddress
from commission.sheet import Sheet
from commission.sheet.decode import block_of

LISTEN_S = 5.0
_LOOK_EVERY_S = 0.02
_SHOWN_BYTES = 12
_COMMON_BAUDS = (19200, 9600, 38400, 115200, 57600, 4800, 2400, 1200)
"""The standard's default first (MODBUS over Serial Line V1.02, 2.5.1), then by how common they are (no source)."""

_COMMON_FRAMES = (("E", 1), ("N", 2), ("O", 1), ("N", 1))


class Port(msgspec.Struct, frozen=True):
    """A serial port of this laptop."""

    device: str
    description: str


class Foreign(msgspec.Struct, frozen=True):
    """What was heard on a line before our first request."""

    seconds: float
    data: bytes

    @property
    def heard(self) -> bool:
        """Whether anybody was talking."""
        return bool(self.data)


class Tried(msgspec.Struct, frozen=True):
    """One setting that was tried; `answered` says that a unit was there, `said` what came of it."""

    address: SerialAddress
    answered: bool
    said: str


def serial_ports() -> tuple[Port, ...]:
    """The serial ports that the operating system knows, by name."""
    found = (Port(port.device, port.description or "") for port in _system_ports.comports())
    return tuple(sorted(found, key=lambda port: port.device))


async def listen(address: SerialAddress, clock: Clock, seconds: float = LISTEN_S) -> Foreign:
    """
    Listen to a line without sending anything.

    Args:
        address: The port, at the setting of the line; 19200 baud and even parity where it is open.

        clock: The session's clock.

        seconds: How long, in wire time.

    Raises:
        NotConnected: the port cannot be opened.
    """
    heard = bytearray()
    port = _open(address)
    try:
        end_ns = clock.wire_ns() + round(seconds * NS_PER_S)
        while clock.wire_ns() < end_ns:
            await clock.sleep_wire(_LOOK_EVERY_S)
            heard += port.read(4096)
    except OSError as error:
        raise NotConnected(f"{address.device} was lost while listening: {error}") from error
    finally:
        port.close()
    return Foreign(seconds, bytes(heard))


async def demand_quiet(address: Address, clock: Clock, seconds: float = LISTEN_S) -> None:
    """
    Listen to a serial line before the first request is sent into it (safety rule R16); a network needs no listening.

    Args:
        address: Where the unit is reached.

        clock: The session's clock.

        seconds: How long, in wire time.

    Raises:
        LineInUse: somebody else is talking; the message says what was heard.

        NotConnected: the port cannot be opened.
    """
    if not isinstance(address, SerialAddress):
        return
    foreign = await listen(address, clock, seconds)
    if foreign.heard:
        count = len(foreign.data)
        more = " …" if count > _SHOWN_BYTES else ""
        raise LineInUse(
            f"somebody else is talking on {address.device}: {count} byte{'' if count == 1 else 's'} in {seconds:g} s, "
            f"beginning {foreign.data[:_SHOWN_BYTES].hex(' ')}{more}. Nothing was sent. Find out who: another master "
            "is taken off this line with the controller's word, or the unit is reached another way"
        )


def settings_to_try(address: SerialAddress, sheet: Sheet) -> tuple[SerialAddress, ...]:
    """Each setting once, the address's or the sheet's own first; what the address gives is not varied."""
    link = sheet.link
    first = (address.baud or link.baud, address.parity or link.parity, address.stop_bits or link.stop_bits)
    bauds = (address.baud,) if address.baud else _COMMON_BAUDS
    combinations = [first] + [
        (baud, parity, stop_bits)
        for baud in bauds
        for parity, stop_bits in _COMMON_FRAMES
        if address.parity in (None, parity) and address.stop_bits in (None, stop_bits)
    ]
    unit_id = address.unit_id or link.unit_id
    return tuple(
        SerialAddress(address.device, baud, parity, stop_bits, unit_id)  # type: ignore[arg-type]  # of the tables above
        for baud, parity, stop_bits in dict.fromkeys(combinations)
    )


async def find(
    address: SerialAddress,
    sheet: Sheet,
    clock: Clock,
    listened: Foreign,
    settings: Iterable[SerialAddress] | None = None,
) -> AsyncIterator[Tried]:
    """
    Try one read at each setting until a unit answers; the last `Tried` says whether one did.

    Args:
        address: The port, and what of its setting is known.

        sheet: Says what to read and which unit identifier to ask.

        clock: The session's clock.

        listened: What `listen` heard on this port.

        settings: The settings to try; `settings_to_try` if None.

    Raises:
        SearchRefused: somebody else is talking.

        NotConnected: the port cannot be opened.
    """
    if listened.heard:
        raise SearchRefused(
            f"{len(listened.data)} bytes of somebody else were heard on {address.device} in {listened.seconds:g} s: "
            "another master is on this line, so it is not searched"
        )
    for setting in settings_to_try(address, sheet) if settings is None else settings:
        tried = await _try(setting, sheet, clock)
        yield tried
        if tried.answered:
            return


async def _try(setting: SerialAddress, sheet: Sheet, clock: Clock) -> Tried:
    point = sheet.point("identity") or sheet.point(sheet.link.alive)
    if point is None or point.read_clears:
        raise SearchRefused("the sheet has no point that may be read for searching")
    line = Line(setting, sheet.link, clock, Health(clock.unit_ns()))
    await line.connect()
    try:
        await line.read(block_of(sheet, point))
    except UnitRefused as refusal:
        return Tried(setting, answered=True, said=str(refusal))
    except NotConnected:
        raise
    except LinkError as fault:
        return Tried(setting, answered=False, said=str(fault))
    finally:
        await line.close()
    return Tried(setting, answered=True, said="a unit answers")


def _open(address: SerialAddress) -> serial.SerialBase:
    try:
        return serial.serial_for_url(
            address.device,
            baudrate=address.baud or 19200,
            parity=address.parity or "E",
            stopbits=address.stop_bits or 1,
            timeout=0,
        )
    except (OSError, ValueError) as error:
        raise NotConnected(f"{address.device} cannot be opened: {error}") from error

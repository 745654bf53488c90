"""Lines and links for the tests, to the units of `servers`, in virtual time."""

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

from commission.leave import LeaveSlot
from commission.link.health import Health
from commission.link.line import Line
from commission.link.unit import UnitLink
from commission.link.url import Address, SerialAddress, TcpAddress
from commission.sheet import Sheet, load_sheet
from tests.link.servers import BAUD, UNIT_ID, Device, Wire, serial_unit, tcp_unit
from tests.virtual_time import virtual_clock

UNITS = Path(__file__).parents[2] / "checklists" / "units"


def demo_sheet() -> Sheet:
    """The sheet of the demo's first unit."""
    return load_sheet(UNITS / "xv-1101.toml")[0]


def address_of(wire: Wire, *, rtu: bool) -> Address:
    """Where a served unit is reached."""
    if rtu:
        return SerialAddress(f"socket://127.0.0.1:{wire.port}", BAUD, "E", 1, UNIT_ID)
    return TcpAddress("127.0.0.1", wire.port, UNIT_ID)


@contextlib.asynccontextmanager
async def open_line(device: Device | None = None, *, rtu: bool) -> AsyncIterator[tuple[Line, Wire]]:
    """A connected line and the unit behind it."""
    served = serial_unit(device) if rtu else tcp_unit(device)
    async with served as wire:
        clock = virtual_clock()
        line = Line(address_of(wire, rtu=rtu), demo_sheet().link, clock, Health(clock.unit_ns()))
        await line.connect()
        try:
            yield line, wire
        finally:
            await line.close()


@contextlib.asynccontextmanager
async def open_link(
    device: Device | None = None, leave: LeaveSlot | None = None, *, rtu: bool = False
) -> AsyncIterator[tuple[UnitLink, Wire]]:
    """A link made by `UnitLink.connect`, and the unit behind it."""
    served = serial_unit(device) if rtu else tcp_unit(device)
    async with served as wire:
        link = await UnitLink.connect(address_of(wire, rtu=rtu), demo_sheet(), virtual_clock(), leave)
        try:
            yield link, wire
        finally:
            await link.close()

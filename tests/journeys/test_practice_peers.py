"""
Every practice unit over TCP and over a serial line, read by clients that others wrote: the same values by each.

pyModbusTCP reads over the socket; over the pseudo-terminal a client of a dozen lines speaks the frames itself (Modbus
over Serial Line V1.02, 2.5.1; the CRC is that of appendix B).
"""

import os
import select
import struct
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pyModbusTCP.client import ModbusClient

from commission.content import checklists_folder
from commission.practice.process import running
from commission.sheet import Point, Sheet, load_sheet

UNITS = sorted((checklists_folder() / "units").glob("*.toml"))
LINKED = [path for path in UNITS if load_sheet(path)[0].linked]
_STILL = ("identity", "fluid_level", "starts_total", "run_limit", "starts_allowed", "starts_window", "open_limit",
          "closed_limit", "remote", "esd_healthy", "alarm_travel", "set_point")  # fmt: skip
"""Roles that stand still on a unit at rest: two clients must read them equal."""

Read = Callable[[str, int, int], list[int]]


def crc(frame: bytes) -> bytes:
    """The check of a serial frame, low byte first."""
    value = 0xFFFF
    for byte in frame:
        value ^= byte
        for _ in range(8):
            value = (value >> 1) ^ 0xA001 if value & 1 else value >> 1
    return struct.pack("<H", value)


@contextmanager
def over_tcp(sheet: Path) -> Iterator[Read]:
    """A reader by pyModbusTCP."""
    unit_id = load_sheet(sheet)[0].link.unit_id
    with running(sheet, "tcp://127.0.0.1:0", seed=5) as unit:
        port = int(unit.at.url.split(":")[2].split("?")[0])
        client = ModbusClient("127.0.0.1", port, unit_id=unit_id, auto_open=True, timeout=5.0)
        functions = {
            "input": client.read_input_registers,
            "holding": client.read_holding_registers,
            "discrete": client.read_discrete_inputs,
            "coil": client.read_coils,
        }

        def read(table: str, address: int, count: int) -> list[int]:
            found = functions[table](address, count)
            assert found is not None, client.last_except_as_txt
            return [int(word) for word in found]

        yield read
        client.close()


@contextmanager
def over_serial(sheet: Path) -> Iterator[Read]:
    """A reader that speaks the serial frames by itself."""
    unit_id = load_sheet(sheet)[0].link.unit_id
    codes = {"coil": 1, "discrete": 2, "holding": 3, "input": 4}
    with running(sheet, "rtu://", seed=5) as unit:
        line = os.open(unit.at.url.removeprefix("rtu://").split("?")[0], os.O_RDWR | os.O_NOCTTY)
        tty.setraw(line)

        def receive(length: int) -> bytes:
            got = b""
            ends_s = time.monotonic() + 5.0
            while len(got) < length and time.monotonic() < ends_s:
                if select.select([line], [], [], 0.2)[0]:
                    got += os.read(line, length - len(got))
                    assert len(got) < 2 or not got[1] & 0x80, f"refused: {got.hex()}"
            return got

        def read(table: str, address: int, count: int) -> list[int]:
            request = struct.pack(">BBHH", unit_id, codes[table], address, count)
            os.write(line, request + crc(request))
            size = (count + 7) // 8 if table in ("coil", "discrete") else 2 * count
            answer = receive(5 + size)
            assert answer[-2:] == crc(answer[:-2])
            body = answer[3:-2]
            if table in ("coil", "discrete"):
                return [body[number // 8] >> number % 8 & 1 for number in range(count)]
            return list(struct.unpack(f">{count}H", body))

        yield read
        os.close(line)


def raw(sheet: Sheet, point: Point, read: Read) -> list[int]:
    """The raw words of a point, its own bit alone where several share a register."""
    words = read(point.table.value, sheet.wire_address(point), point.words)
    return words if point.bit is None else [words[0] >> point.bit & 1]


@pytest.mark.slow
@pytest.mark.parametrize("path", LINKED, ids=lambda path: path.stem)
def test_two_clients_over_two_wires_read_the_same(path: Path) -> None:
    """Every listed point answers over both; what stands still is equal; floats make sense in the sheet's own order."""
    sheet = load_sheet(path)[0]
    by_place = {(point.table, point.address): point for point in reversed(sheet.points) if not point.read_clears}
    with over_tcp(path) as tcp, over_serial(path) as serial:
        for point in by_place.values():
            one, other = raw(sheet, point, tcp), raw(sheet, point, serial)
            assert len(one) == len(other) == point.words
            if point.role in _STILL:
                assert one == other, point.role
        volts = sheet.point("supply_voltage")
        assert volts is not None
        order = volts.order or sheet.link.order
        for read in (tcp, serial):
            packed = struct.pack(">HH", *raw(sheet, volts, read))
            value = struct.unpack(">f", bytes(packed[order.index(letter)] for letter in "ABCD"))[0]
            assert value == pytest.approx(24.37, abs=0.1)


@pytest.mark.slow
def test_packed_bits_are_inverted() -> None:
    """BDV-3307 at rest, open: limits are 0 where made, the rest of its status word as its list says."""
    path = checklists_folder() / "units" / "bdv-3307.toml"
    with over_tcp(path) as read:
        status = read("input", 122, 1)[0]
    open_made, closed_made = not status & 1, not status >> 1 & 1
    assert (open_made, closed_made) == (False, True)
    assert status >> 4 & 0b1111 == 0b1111

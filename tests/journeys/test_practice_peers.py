"""
Every practice unit over TCP and over a serial line, read by clients that others wrote: each word equal by each.

Over the socket pyModbusTCP and modbus-tk read; over the pseudo-terminal modbus-tk, and a client of a dozen lines that
speaks the frames itself (Modbus over Serial Line V1.02, 2.5.1; the CRC is that of appendix B). The unit's own time
stands still while they read, so that noise is equal too.
"""

import asyncio
import os
import select
import struct
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import groupby
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
import serial
from modbus_tk import modbus_rtu, modbus_tcp
from modbus_tk.modbus import Master, ModbusError
from pyModbusTCP.client import ModbusClient

from commission.clock import NS_PER_S, Clock
from commission.content import checklists_folder
from commission.practice.serve import ServedAt, serve
from commission.sheet import Point, Sheet, load_sheet

UNITS = sorted((checklists_folder() / "units").glob("*.toml"))
LINKED = [path for path in UNITS if load_sheet(path)[0].linked]
LIVED_S = 3.0
PATIENCE_S = 5.0
CODES = {"coil": 1, "discrete": 2, "holding": 3, "input": 4}

Read = Callable[[str, int, int], list[int]]
Places = dict[tuple[str, int], int]


class StillClock(Clock):
    """Unit time stands, three seconds on once it is let go; wire time runs."""

    lived = False

    def unit_ns(self) -> int:
        """The same for everybody who asks."""
        return round(LIVED_S * NS_PER_S) if self.lived else 0


@contextmanager
def served(sheet: Path, url: str) -> Iterator[str]:
    """A unit in a thread of its own, as it is three seconds after its start; where it is."""
    clock, up, stop = StillClock(), threading.Event(), asyncio.Event()
    found: list[ServedAt] = []
    loop = asyncio.new_event_loop()

    def ready(at: ServedAt) -> None:
        found.append(at)
        up.set()

    def live() -> None:
        loop.run_until_complete(
            serve(load_sheet(sheet)[0], url, seed=5, start="open", clock=clock, on_ready=ready, stop=stop)
        )
        loop.close()

    thread = threading.Thread(target=live)
    thread.start()
    assert up.wait(PATIENCE_S)
    clock.lived = True
    try:
        yield found[0].url
    finally:
        loop.call_soon_threadsafe(stop.set)
        thread.join(PATIENCE_S)


def crc(frame: bytes) -> bytes:
    """The check of a serial frame, low byte first."""
    value = 0xFFFF
    for byte in frame:
        value ^= byte
        for _ in range(8):
            value = (value >> 1) ^ 0xA001 if value & 1 else value >> 1
    return struct.pack("<H", value)


def unit_of(url: str) -> int:
    """The unit identifier in a URL."""
    return int(parse_qs(urlsplit(url).query)["unit"][0])


@contextmanager
def by_pymodbustcp(url: str) -> Iterator[Read]:
    """A reader over the socket."""
    at = urlsplit(url)
    client = ModbusClient(at.hostname, at.port, unit_id=unit_of(url), auto_open=True, timeout=PATIENCE_S)
    functions = {
        "coil": client.read_coils,
        "discrete": client.read_discrete_inputs,
        "holding": client.read_holding_registers,
        "input": client.read_input_registers,
    }

    def read(table: str, address: int, count: int) -> list[int]:
        found = functions[table](address, count)
        assert found is not None, client.last_except_as_txt
        return [int(word) for word in found]

    yield read
    client.close()


@contextmanager
def by_modbus_tk(url: str) -> Iterator[Read]:
    """A reader over either wire."""
    at, unit_id = urlsplit(url), unit_of(url)
    master: Master
    if at.scheme == "tcp":
        master = modbus_tcp.TcpMaster(at.hostname, at.port)
    else:
        baud = int(parse_qs(at.query)["baud"][0])
        master = modbus_rtu.RtuMaster(serial.Serial(at.path, baud, bytesize=8, parity="N", stopbits=1))
    master.set_timeout(PATIENCE_S)
    yield lambda table, address, count: [int(word) for word in master.execute(unit_id, CODES[table], address, count)]
    master.close()


@contextmanager
def by_hand(url: str) -> Iterator[Read]:
    """A reader that speaks the serial frames by itself."""
    unit_id, line = unit_of(url), os.open(urlsplit(url).path, os.O_RDWR | os.O_NOCTTY)
    tty.setraw(line)

    def receive(length: int) -> bytes:
        got, ends_s = b"", time.monotonic() + PATIENCE_S
        while len(got) < length and time.monotonic() < ends_s:
            if select.select([line], [], [], 0.2)[0]:
                got += os.read(line, length - len(got))
                assert len(got) < 2 or not got[1] & 0x80, f"refused: {got.hex()}"
        return got

    def read(table: str, address: int, count: int) -> list[int]:
        request = struct.pack(">BBHH", unit_id, CODES[table], address, count)
        os.write(line, request + crc(request))
        bits = table in ("coil", "discrete")
        answer = receive(5 + ((count + 7) // 8 if bits else 2 * count))
        assert answer[-2:] == crc(answer[:-2])
        body = answer[3:-2]
        if bits:
            return [body[number // 8] >> number % 8 & 1 for number in range(count)]
        return list(struct.unpack(f">{count}H", body))

    yield read
    os.close(line)


def runs_of(sheet: Sheet) -> list[tuple[str, int, int]]:
    """What a sheet lists, as table, first wire address and how many; a run ends where the list has a gap."""
    listed = {
        (point.table.value, sheet.wire_address(point) + word) for point in sheet.points for word in range(point.words)
    }
    found = []
    for table in CODES:
        places = sorted(address for name, address in listed if name == table)
        for _, run in groupby(enumerate(places), lambda item: item[1] - item[0]):
            addresses = [address for _, address in run]
            found.append((table, addresses[0], len(addresses)))
    return found


def all_of(sheet: Sheet, read: Read) -> Places:
    """Every listed word by one client."""
    return {
        (table, first + number): word
        for table, first, count in runs_of(sheet)
        for number, word in enumerate(read(table, first, count))
    }


@pytest.mark.slow
@pytest.mark.parametrize("path", LINKED, ids=lambda path: path.stem)
def test_clients_that_others_wrote_read_the_same_over_both_wires(path: Path) -> None:
    """Every listed word by two clients over TCP and by two over RTU; the sheet's own order makes sense of them."""
    sheet = load_sheet(path)[0]
    with served(path, "tcp://127.0.0.1:0") as url:
        with by_pymodbustcp(url) as read:
            known = all_of(sheet, read)
        with by_modbus_tk(url) as read:
            assert all_of(sheet, read) == known
    with served(path, "rtu://") as url:
        with by_modbus_tk(url) as read:
            assert all_of(sheet, read) == known
        with by_hand(url) as read:
            assert all_of(sheet, read) == known
    assert sum(point.words for point in sheet.points if point.bit is None) <= len(known)
    table, first, _ = place_of(sheet, "identity")
    assert known[table, first] == sheet.identity.code
    assert float_at(sheet, "supply_voltage", known) == pytest.approx(24.37, abs=0.1)
    assert float_at(sheet, "travel", known) == pytest.approx(100.0, abs=0.2)


def place_of(sheet: Sheet, role: str) -> tuple[str, int, Point]:
    """Where a point is on the wire."""
    point = sheet.point(role)
    assert point is not None, role
    return point.table.value, sheet.wire_address(point), point


def float_at(sheet: Sheet, role: str, known: Places) -> float:
    """A number of two registers, put together by hand in the order that the sheet names."""
    table, first, point = place_of(sheet, role)
    packed = struct.pack(">HH", known[table, first], known[table, first + 1])
    order = point.order or sheet.link.order
    return float(struct.unpack(">f", bytes(packed[order.index(letter)] for letter in "ABCD"))[0])


@pytest.mark.slow
def test_packed_bits_are_inverted() -> None:
    """BDV-3307 at rest, open: limits are 0 where made, the rest of its status word as its list says."""
    with served(checklists_folder() / "units" / "bdv-3307.toml", "tcp://127.0.0.1:0") as url, by_modbus_tk(url) as read:
        status = read("input", 122, 1)[0]
    assert (status & 1, status >> 1 & 1) == (0, 1)
    assert status >> 4 & 0b1111 == 0b1111


@pytest.mark.slow
def test_what_a_unit_refuses_comes_as_an_exception_over_both_wires() -> None:
    """FCV-2204's forbidden gap is an illegal address (Application Protocol V1.1b3, 7), whoever asks."""
    gap, path = ("input", 28, 1), checklists_folder() / "units" / "fcv-2204.toml"
    with served(path, "tcp://127.0.0.1:0") as url, by_modbus_tk(url) as read:
        with pytest.raises(ModbusError) as refused:
            read(*gap)
        assert refused.value.get_exception_code() == 2
    with served(path, "rtu://") as url, by_hand(url) as read, pytest.raises(AssertionError, match="refused: 018402"):
        read(*gap)

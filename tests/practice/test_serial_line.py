"""The paced serial line on a pseudo-terminal, bytes counted and timed, in virtual time."""

import asyncio
import os
import select
import struct
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from unittest.mock import patch

import pytest
from msgspec.structs import replace

from commission.practice.device import Device
from commission.practice.identification import fresh_identification
from commission.practice.lifetime import Lifetime
from commission.practice.serial_line import SerialLine, character_s
from commission.practice.server import TURNAROUND_S, UnitServer, foreign_frames, rtu_wire
from commission.practice.unit import PracticeUnit
from commission.sheet import Sheet
from tests.virtual_time import run_virtual, virtual_clock

ElevenBits_S = 11 / 19200
PATIENCE_S = 20.0


def crc16(frame: bytes) -> bytes:
    """CRC of Modbus over Serial Line V1.02, 6.2.2: polynomial A001 hex, low byte first."""
    crc = 0xFFFF
    for byte in frame:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc.to_bytes(2, "little")


def framed(pdu: bytes, unit: int = 11) -> bytes:
    """A frame of the line."""
    body = bytes([unit]) + pdu
    return body + crc16(body)


class Terminal:
    """The client's end of the line, byte by byte, each stamped with the time it came."""

    def __init__(self, path: str) -> None:
        self._file = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        self.bytes = b""
        self.at_s: list[float] = []
        asyncio.get_running_loop().add_reader(self._file, self._read)

    def _read(self) -> None:
        data = os.read(self._file, 256)
        self.bytes += data
        self.at_s += [asyncio.get_running_loop().time()] * len(data)

    def write(self, data: bytes) -> None:
        """Put bytes on the line at once, as a driver does."""
        self.bytes, self.at_s = b"", []
        os.write(self._file, data)

    def close(self) -> None:
        """Leave."""
        asyncio.get_running_loop().remove_reader(self._file)
        os.close(self._file)


@contextmanager
def delivered_at_once(line: SerialLine, terminal: Terminal) -> Iterator[None]:
    """What is written at one end is there at the other before virtual time goes on, however busy the machine is."""
    write, ends = os.write, {line._ours: terminal._file, terminal._file: line._ours}

    def and_wait(file: int, data: bytes) -> int:
        written = write(file, data)
        if file in ends:
            select.select([ends[file]], [], [], PATIENCE_S)
        return written

    with patch.object(os, "write", and_wait):
        yield


def on_line(sheet: Sheet, work: Callable[[Terminal, SerialLine], Awaitable[None]]) -> None:
    """Serve a unit on a line, do the work at its client's end."""

    async def main() -> None:
        life = Lifetime(PracticeUnit(sheet, seed=1), virtual_clock())
        server = UnitServer(Device(life.unit), life, fresh_identification("XV-1101", 1.0))
        line = SerialLine(rtu_wire(server), sheet.link, life.clock)
        line.open()
        terminal = Terminal(line.path)
        with delivered_at_once(line, terminal):
            await work(terminal, line)
        terminal.close()
        await line.closed()

    run_virtual(main())


def test_checksum_of_the_test() -> None:
    """The CRC above gives the check value of CRC-16/MODBUS: 4B37 hex for "123456789" (published catalogue value)."""
    assert crc16(b"123456789") == bytes.fromhex("374b")


@pytest.mark.parametrize(("parity", "stop_bits", "bits"), [("E", 1, 11), ("N", 2, 11), ("N", 1, 10), ("O", 2, 12)])
def test_bits_of_a_character(sheet: Sheet, parity: str, stop_bits: int, bits: int) -> None:
    """Start, eight data bits, parity if any, stop bits."""
    link = replace(sheet.link, parity=parity, stop_bits=stop_bits, baud=9600)
    assert character_s(link) == pytest.approx(bits / 9600)


def test_bytes_take_their_time(sheet: Sheet) -> None:
    """8 bytes out, turnaround, 31 bytes back, each at 11 bits and 19200 baud: 0.57 ms a byte."""

    async def work(terminal: Terminal, _line: SerialLine) -> None:
        begun_s = asyncio.get_running_loop().time()
        terminal.write(framed(struct.pack(">BHH", 4, 10, 13)))
        await asyncio.sleep(0.1)
        assert len(terminal.bytes) == 31
        assert terminal.bytes[-2:] == crc16(terminal.bytes[:-2])
        assert terminal.at_s[0] - begun_s == pytest.approx(12 * ElevenBits_S + TURNAROUND_S, abs=0.001)
        assert terminal.at_s[-1] - terminal.at_s[0] == pytest.approx(27 * ElevenBits_S, abs=0.001)
        assert len(set(terminal.at_s)) == 8, "four bytes at a time"

    on_line(sheet, work)


def test_noise_before_a_frame_is_forgotten_after_a_silence(sheet: Sheet) -> None:
    """Rubbish, then 3.5 characters of silence, then a good request: answered."""

    async def work(terminal: Terminal, _line: SerialLine) -> None:
        terminal.write(b"\x0b\x04\x00")
        await asyncio.sleep(0.05)
        terminal.write(framed(struct.pack(">BHH", 4, 0, 1)))
        await asyncio.sleep(0.1)
        assert terminal.bytes == framed(bytes.fromhex("04 02 044d"))

    on_line(sheet, work)


def test_damaged_and_foreign_frames_are_silent(sheet: Sheet) -> None:
    """A wrong checksum, or another unit's number, gets no byte."""

    async def work(terminal: Terminal, _line: SerialLine) -> None:
        good = framed(struct.pack(">BHH", 4, 0, 1))
        for frame in (good[:-1] + bytes([good[-1] ^ 1]), framed(struct.pack(">BHH", 4, 0, 1), unit=7)):
            terminal.write(frame)
            await asyncio.sleep(0.1)
            assert terminal.bytes == b""
        terminal.write(good)
        await asyncio.sleep(0.1)
        assert len(terminal.bytes) == 7

    on_line(sheet, work)


def test_a_client_may_leave_and_another_come(sheet: Sheet) -> None:
    """The line outlives the terminal that was opened on it."""

    async def work(terminal: Terminal, line: SerialLine) -> None:
        del terminal
        for _ in range(2):
            other = Terminal(line.path)
            with delivered_at_once(line, other):
                other.write(framed(struct.pack(">BHH", 4, 0, 1)))
                await asyncio.sleep(0.1)
            seen = len(other.bytes)
            other.close()
            if seen:
                return
        pytest.fail("no answer to a later client")

    async def main() -> None:
        life = Lifetime(PracticeUnit(sheet, seed=1), virtual_clock())
        line = SerialLine(
            rtu_wire(UnitServer(Device(life.unit), life, fresh_identification("XV-1101", 1.0))), sheet.link, life.clock
        )
        line.open()
        first = Terminal(line.path)
        first.close()
        await asyncio.sleep(0.1)
        await work(first, line)
        await line.closed()

    run_virtual(main())


def test_another_master_is_heard_on_the_line(sheet: Sheet) -> None:
    """Every second it asks another unit and that unit answers: two whole frames that are not this unit's."""

    async def main() -> None:
        clock = virtual_clock()
        unit = PracticeUnit(sheet)
        server = UnitServer(Device(unit), Lifetime(unit, clock), fresh_identification("XV-1101", 1.0))
        line = SerialLine(rtu_wire(server), sheet.link, clock, foreign_frames(sheet.link.unit_id), 1.0)
        line.open()
        terminal = Terminal(line.path)
        for _ in range(60):
            await asyncio.sleep(0.05)
        heard = terminal.bytes
        terminal.close()
        await line.closed()
        asked, answered = foreign_frames(sheet.link.unit_id)
        assert asked[0] == answered[0] == sheet.link.unit_id + 1
        assert crc16(asked[:-2]) == asked[-2:]
        assert heard.startswith(asked + answered)

    run_virtual(main())

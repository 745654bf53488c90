"""
Modbus: frames, checksum, exceptions, silences and shortest cycles, held against the published ones.

Sources: MODBUS Application Protocol Specification V1.1b3 (clause beside each check); MODBUS over Serial Line
Specification and Implementation Guide V1.02; MODBUS Messaging on TCP/IP Implementation Guide V1.0b. Letters: R = read
in a public transcription, M = from memory, C = computed with independent code.
"""

import itertools
import struct

import msgspec
import pytest

from commission.link.faults import UnitRefused, code_words
from commission.link.plan import BITS_LIMIT, REGISTERS_LIMIT, cycle_time_s, plan_for
from commission.link.serial_timing import gap_s
from commission.link.url import SerialAddress
from commission.sample import Block, Outcome, ReadPlan, Table
from tests.link.lines import demo_sheet, open_line
from tests.link.servers import Device, crc16
from tests.virtual_time import run_virtual

UNIT_17 = 17

# Application Protocol V1.1b3 6.1 to 6.6 and 6.12; R. Request PDU, response PDU, what is read or written.
READS = [
    ("01 00 13 00 13", "01 03 CD 6B 05", Block(Table.COIL, 19, 19), "1011001111010110101"),
    ("02 00 C4 00 16", "02 03 AC DB 35", Block(Table.DISCRETE, 196, 22), "0011010111011011101011"),
    ("03 00 6B 00 03", "03 06 02 2B 00 00 00 64", Block(Table.HOLDING, 107, 3), "555 0 100"),
    ("04 00 08 00 01", "04 02 00 0A", Block(Table.INPUT, 8, 1), "10"),
]
WRITES = [
    ("05 00 AC FF 00", "05 00 AC FF 00", Table.COIL, 172, (1,)),
    ("06 00 01 00 03", "06 00 01 00 03", Table.HOLDING, 1, (3,)),
    ("10 00 01 00 02 04 00 0A 01 02", "10 00 01 00 02", Table.HOLDING, 1, (10, 258)),
]


class _Scripted(Device):
    """A unit that gives one published answer and keeps the request."""

    def __init__(self, answer: str) -> None:
        super().__init__()
        self.answer = bytes.fromhex(answer)

    def respond(self, pdu: bytes) -> bytes:  # noqa: ARG002  # the signature of every device
        """The published answer, whatever was asked; the test looks at the request."""
        return self.answer


def _words(text: str) -> tuple[int, ...]:
    return tuple(int(word) for word in (text.split() if " " in text or len(text) < 3 else text))


@pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
@pytest.mark.parametrize(("request_hex", "response_hex", "block", "values"), READS)
def test_published_reads(request_hex: str, response_hex: str, block: Block, values: str, *, rtu: bool) -> None:
    """Our request is the published one byte for byte, and its published answer gives the published values."""

    async def main() -> None:
        async with open_line(_Scripted(response_hex), rtu=rtu) as (line, wire):
            assert (await line.read(block)).words == _words(values)
            frame = wire.requests[-1][1]
            assert (frame[1:-2] if rtu else frame[7:]) == bytes.fromhex(request_hex)

    run_virtual(main())


@pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
@pytest.mark.parametrize(("request_hex", "response_hex", "table", "address", "words"), WRITES)
def test_published_writes(
    request_hex: str, response_hex: str, table: Table, address: int, words: tuple[int, ...], *, rtu: bool
) -> None:
    """Our write is the published one byte for byte, and its published answer counts as answered."""

    async def main() -> None:
        async with open_line(_Scripted(response_hex), rtu=rtu) as (line, wire):
            assert (await line.write(table, address, words)).outcome is Outcome.ANSWERED
            frame = wire.requests[-1][1]
            assert (frame[1:-2] if rtu else frame[7:]) == bytes.fromhex(request_hex)

    run_virtual(main())


@pytest.mark.parametrize(
    ("body", "checksum"),
    [
        ("02 07", "41 12"),  # Serial Line V1.02 6.2.2, example; R, C
        ("31 32 33 34 35 36 37 38 39", "37 4B"),  # CRC-16/MODBUS of "123456789" is 4B37h; C, M
        ("11 03 00 6B 00 03", "76 87"),  # R (public conformance tests), C
        ("11 03 06 02 2B 00 00 00 64", "C8 BA"),  # R, C
        ("11 05 00 AC FF 00", "4E 8B"),  # R, C
        ("11 01 00 13 00 13", "8E 92"),  # R, C
        ("01 05 00 AC FF 00", "4C 1B"),  # R (public tables), C
        ("01 03 00 6B 00 03", "74 17"),  # R, C
        ("01 02 00 C4 00 16", "B8 39"),  # R, C
        ("01 03 06 02 2B 00 00 00 64", "05 7A"),  # R, C
    ],
)
def test_published_checksums(body: str, checksum: str) -> None:
    """The checksum that the tests' own units use, and so the one they demand of us, is the published one."""
    assert crc16(bytes.fromhex(body)) == bytes.fromhex(checksum)


def test_our_serial_frame_for_unit_17_is_the_published_one() -> None:
    """11 03 00 6B 00 03 76 87 leaves our line, checksum included (R, C)."""

    async def main() -> None:
        async with open_line(rtu=True) as (line, wire):
            line.settings = msgspec.structs.replace(line.settings, unit_id=UNIT_17)
            written = await line.write(Table.COIL, 172, (1,))
            assert written.outcome is Outcome.UNANSWERED  # nobody is unit 17 here
            assert wire.requests[-1][1] == bytes.fromhex("11 05 00 AC FF 00 4E 8B")

    run_virtual(main())


def test_tcp_header_of_unit_17_is_the_published_one() -> None:
    """Transaction 1, protocol 0, length 6, unit 17, then the PDU (Messaging on TCP/IP guide; R, C)."""

    async def main() -> None:
        async with open_line(rtu=False) as (line, wire):
            line.settings = msgspec.structs.replace(line.settings, unit_id=UNIT_17)
            await line.write(Table.HOLDING, 1, (3,))
            assert wire.requests[-1][1] == bytes.fromhex("00 01 00 00 00 06 11 06 00 01 00 03")

    run_virtual(main())


def test_published_exception_is_understood() -> None:
    """01 04 A1 00 01 → 81 02: coil 1186 of a unit with fewer (7; M)."""

    async def main() -> None:
        async with open_line(_Scripted("81 02"), rtu=True) as (line, wire):
            with pytest.raises(UnitRefused) as refused:
                await line.read(Block(Table.COIL, 0x04A1, 1))
            assert refused.value.code == 2
            assert wire.requests[-1][1][1:-2] == bytes.fromhex("01 04 A1 00 01")

    run_virtual(main())


@pytest.mark.parametrize(
    ("code", "meaning"),
    [
        (1, "function"),
        (2, "address"),
        (3, "value"),
        (4, "failed"),
        (5, "accepted"),
        (6, "busy"),
        (8, "parity"),
        (10, "path"),
        (11, "did not answer"),
    ],
)
def test_published_exception_codes_have_their_meaning(code: int, meaning: str) -> None:
    """Each code of clause 7 is put into words that carry its meaning (M)."""
    assert meaning in code_words(code)


def test_protocol_address_6bh_is_register_108() -> None:
    """A list that counts from 1 calls the register at 006Bh number 108 (4.4, 6.3; M, R)."""
    sheet = demo_sheet()
    point = msgspec.structs.replace(sheet.points[1], table=Table.HOLDING, address=108, type="u16")
    from_one = msgspec.structs.replace(sheet, points=(point,), link=msgspec.structs.replace(sheet.link, counts_from=1))
    assert plan_for(from_one, ["travel"]).blocks == (Block(Table.HOLDING, 0x6B, 1),)


def test_published_quantity_limits() -> None:
    """One request reads 2000 bits or 125 registers at most (6.1 to 6.4; M)."""
    assert (BITS_LIMIT, REGISTERS_LIMIT) == (2000, 125)


@pytest.mark.parametrize(
    ("baud", "gap_ms"), [(9600, 4.01042), (19200, 2.00521), (38400, 1.750), (57600, 1.750), (115200, 1.750)]
)
def test_published_silences(baud: int, gap_ms: float) -> None:
    """3.5 characters of 11 bits up to 19200 baud, 1.750 ms above (Serial Line V1.02, 2.5.1.1; R, M, C)."""
    assert gap_s(baud) * 1000 == pytest.approx(gap_ms, abs=5e-6)


def test_default_line_setting_is_the_standards() -> None:
    """19200 baud, even parity, one stop bit (Serial Line V1.02, 2.5.1, 3.3; M)."""
    link = demo_sheet().link
    assert (link.baud, link.parity, link.stop_bits) == (19200, "E", 1)
    assert SerialAddress("COM3").text == "rtu://COM3"


# Shortest possible cycle, ms: request 8 bytes, response 5 + 2n, two silences, no turnaround (C from V1.02, 2.5.1.1).
SHORTEST_MS = {
    (1200, 1): 201.6667,
    (1200, 125): 2475.0,
    (2400, 8): 165.0,
    (4800, 32): 192.5,
    (9600, 1): 25.2083,
    (9600, 8): 41.25,
    (9600, 32): 96.25,
    (9600, 125): 309.375,
    (19200, 1): 12.6042,
    (19200, 8): 20.625,
    (19200, 32): 48.125,
    (19200, 125): 154.6875,
    (38400, 1): 7.7969,
    (38400, 8): 11.8073,
    (38400, 32): 25.5573,
    (38400, 125): 78.8385,
    (57600, 1): 6.3646,
    (57600, 8): 9.0382,
    (57600, 32): 18.2049,
    (57600, 125): 53.7257,
    (115200, 1): 4.9323,
    (115200, 8): 6.2691,
    (115200, 32): 10.8524,
    (115200, 125): 28.6128,
}


@pytest.mark.parametrize(("baud", "registers"), sorted(SHORTEST_MS))
def test_planner_promises_the_shortest_legal_cycle_and_not_less(baud: int, registers: int) -> None:
    """The cycle time of a plan of one block equals the computed table at each baud rate."""
    settings = msgspec.structs.replace(demo_sheet().link, baud=baud)
    plan = ReadPlan(UNIT_17, (Block(Table.HOLDING, 0, registers),))
    assert cycle_time_s(plan, settings) * 1000 == pytest.approx(SHORTEST_MS[baud, registers], abs=1e-4)


def test_line_is_never_faster_than_the_shortest_legal_cycle() -> None:
    """Polled as fast as it goes, our line takes at least the table's 12.6 ms at 19200 baud, and little more."""

    async def main() -> None:
        device = Device(turnaround_s=3.5 * 11 / 19200)  # the shortest that a unit may take
        async with open_line(device, rtu=True) as (line, wire):
            for _ in range(10):
                await line.read(Block(Table.INPUT, 0, 1))
            begins = [begin for begin, _ in wire.requests]
            shortest_s = SHORTEST_MS[19200, 1] / 1000
            periods = [later - earlier for earlier, later in itertools.pairwise(begins)]
            assert min(periods) >= shortest_s - 1e-6
            assert max(periods) <= shortest_s * 1.1

    run_virtual(main())


def test_float_of_two_registers_keeps_its_ieee_bytes() -> None:
    """47.5 is 423E 0000h (IEEE 754 single precision; C with struct), as the tests' units hold it."""
    assert struct.pack(">f", 47.5) == bytes.fromhex("423E0000")

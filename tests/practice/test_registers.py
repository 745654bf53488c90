"""Numbers to registers and back: the vectors of trade guide 10.7 (32-bit words by IEEE 754), and round trips."""

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from commission.practice.condition import Condition
from commission.practice.mechanism import NotServed
from commission.practice.registers import as_served, bit_of, check_units, value_of, words_of
from commission.sheet import Point, Sheet
from tests.practice.made import SHEET

VECTORS = [
    (
        "f32",
        87.3,
        {"ABCD": (0x42AE, 0x999A), "CDAB": (0x999A, 0x42AE), "BADC": (0xAE42, 0x9A99), "DCBA": (0x9A99, 0xAE42)},
    ),
    (
        "f32",
        12.34,
        {"ABCD": (0x4145, 0x70A4), "CDAB": (0x70A4, 0x4145), "BADC": (0x4541, 0xA470), "DCBA": (0xA470, 0x4541)},
    ),
    (
        "f32",
        -3.25,
        {"ABCD": (0xC050, 0x0000), "CDAB": (0x0000, 0xC050), "BADC": (0x50C0, 0x0000), "DCBA": (0x0000, 0x50C0)},
    ),
    (
        "f32",
        100.0,
        {"ABCD": (0x42C8, 0x0000), "CDAB": (0x0000, 0x42C8), "BADC": (0xC842, 0x0000), "DCBA": (0x0000, 0xC842)},
    ),
    (
        "u32",
        123456,
        {"ABCD": (0x0001, 0xE240), "CDAB": (0xE240, 0x0001), "BADC": (0x0100, 0x40E2), "DCBA": (0x40E2, 0x0100)},
    ),
]


def point_of(sheet: Sheet, role: str, **changes: object) -> Point:
    """A point of the sheet, changed."""
    point = sheet.point(role)
    assert point is not None
    return replace(point, **changes)


@pytest.mark.parametrize(("kind", "number", "by_order"), VECTORS, ids=lambda value: str(value)[:6])
def test_published_words(sheet: Sheet, kind: str, number: float, by_order: dict[str, tuple[int, int]]) -> None:
    """Each value in each of the four orders, out and back."""
    for order, words in by_order.items():
        point = point_of(sheet, "identity", type=kind, order=order)
        assert words_of(sheet, point, number) == words
        assert value_of(sheet, point, words) == pytest.approx(number, rel=1e-7)


@pytest.mark.parametrize(
    ("role", "value", "words"),
    [
        ("oil_temperature", -12.3, (0x10000 - 123,)),
        ("motor_current", 19.6, (1960,)),
        ("feedback_current", 0.01234, (12340,)),
        ("fluid_level", 0.92, (92,)),
        ("starts_total", 70_000.0, (65_535,)),
        ("motor_current", -1.0, (0,)),
        ("trip_high", 70e5, (700,)),
        ("starts_window", 3600.0, (60,)),
    ],
)
def test_scale_unit_and_bounds(sheet: Sheet, role: str, value: float, words: tuple[int, ...]) -> None:
    """By hand: value over unit over scale; beyond the range a register stands at its end."""
    assert words_of(sheet, point_of(sheet, role), value) == words


@given(st.sampled_from(["u16", "i16", "u32", "i32"]), st.sampled_from(["ABCD", "CDAB", "BADC", "DCBA"]), st.integers())
def test_whole_numbers_come_back(kind: str, order: str, number: int) -> None:
    """Any whole number within the register's range."""
    sheet = SHEET
    bits = int(kind[1:])
    low = -(1 << bits - 1) if kind[0] == "i" else 0
    number = low + number % (1 << bits)
    point = point_of(sheet, "identity", type=kind, order=order)
    assert value_of(sheet, point, words_of(sheet, point, number)) == number


@given(st.floats(width=32, allow_nan=False, allow_infinity=False))
def test_floats_come_back(number: float) -> None:
    """Any finite 32-bit float, bit for bit."""
    sheet = SHEET
    point = point_of(sheet, "identity", type="f32", order="CDAB")
    low, high = words_of(sheet, point, number)
    assert struct.unpack(">f", struct.pack(">HH", high, low))[0] == number
    assert value_of(sheet, point, (low, high)) == number


def test_sense_of_a_bit(sheet: Sheet) -> None:
    """1 is the word the sheet names: enough for the fluid, made for a limit, and the other way about if it says so."""
    assert bit_of(point_of(sheet, "low_fluid"), 1.0) == 0
    assert bit_of(point_of(sheet, "open_limit"), 1.0) == 1
    assert bit_of(point_of(sheet, "open_limit", one_means="not made"), 1.0) == 0
    assert bit_of(point_of(sheet, "command_open"), 1.0) == 0


def test_unknown_unit_is_refused_by_name(sheet: Sheet) -> None:
    """The message names point and unit."""
    odd = replace(sheet, points=(*sheet.points[1:], point_of(sheet, "identity", unit="furlong")))
    with pytest.raises(NotServed, match="'identity': unit 'furlong'"):
        check_units(odd)


def test_a_firmware_can_differ_from_its_list(sheet: Sheet) -> None:
    """Words swapped: 24.37 V read by the sheet is nonsense. Shifted: one address further. A decimal slipped: ×10."""
    volts, oil = sheet.point("supply_voltage"), sheet.point("oil_temperature")
    assert volts is not None
    assert oil is not None
    swapped = as_served(sheet, Condition(words_swapped=True))
    served = swapped.point("supply_voltage")
    assert served is not None
    assert words_of(swapped, served, 24.37) == words_of(sheet, volts, 24.37)[::-1]
    shifted = as_served(sheet, Condition(shifted=True)).point("oil_temperature")
    assert shifted is not None
    assert shifted.address == oil.address + 1
    slipped = as_served(sheet, Condition(decimal_slipped=True))
    tenth = slipped.point("oil_temperature")
    assert tenth is not None
    assert words_of(slipped, tenth, 20.0) == (2000,)
    assert as_served(sheet, Condition()) == sheet

"""Tests of decoding: registers to readings in the role's unit, each with its own time."""

import math
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.sample import Block, BlockRead, ReadPlan, Sample, Table
from commission.sheet.decode import Decoder, Reading, Readings, block_of, number_from_words, reading_of
from commission.sheet.points import Point
from tests.sheet.xv import changed, xv_1101

PLAN = ReadPlan(11, (Block(Table.INPUT, 10, 17), Block(Table.DISCRETE, 0, 8)))
ORDERS = {"ABCD": (0, 1, 2, 3), "CDAB": (2, 3, 0, 1), "BADC": (1, 0, 3, 2), "DCBA": (3, 2, 1, 0)}
CODES = {"u16": ">H", "i16": ">h", "u32": ">I", "i32": ">i", "f32": ">f"}
RANGES = {"u16": (0, 2**16 - 1), "i16": (-(2**15), 2**15 - 1), "u32": (0, 2**32 - 1), "i32": (-(2**31), 2**31 - 1)}


def words_of(number: float, kind: str, order: str) -> tuple[int, ...]:
    """Registers that hold a number: `struct` packs it, the four bytes go on the wire in the order's own letters."""
    packed = struct.pack(CODES[kind], number if kind == "f32" else int(number))
    if len(packed) == 4:
        packed = bytes(packed["ABCD".index(letter)] for letter in order)
    return tuple(int.from_bytes(packed[at : at + 2], "big") for at in range(0, len(packed), 2))


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("kind", RANGES)
@given(data=st.data())
def test_whole_numbers_come_back_from_every_order(kind: str, order: str, data: st.DataObject) -> None:
    """Decode of encode is the number, for each type and byte order."""
    number = data.draw(st.integers(*RANGES[kind]))
    assert number_from_words(words_of(number, kind, order), kind, order) == number


@pytest.mark.parametrize("order", ORDERS)
@given(number=st.floats(width=32))
def test_floats_come_back_from_every_order(order: str, number: float) -> None:
    """Decode of encode is the float, NaN and infinities included."""
    back = number_from_words(words_of(number, "f32", order), "f32", order)
    assert back == number or (math.isnan(back) and math.isnan(number))


def point_of(role: str) -> Point:
    """A point of XV-1101."""
    point = xv_1101().point(role)
    assert point is not None
    return point


@pytest.mark.parametrize(
    ("role", "words", "value"),
    [
        ("travel", words_of(87.5, "f32", "CDAB"), 0.875),
        ("cylinder_pressure", words_of(53.5, "f32", "CDAB"), 53.5e5),
        ("oil_temperature", words_of(-123, "i16", "ABCD"), -12.3),
        ("motor_current", (1960,), 19.6),
        ("fluid_level", (83,), 0.83),
        ("feedback_current", (12500,), 0.0125),
        ("run_time_total", words_of(123456, "u32", "CDAB"), 123456.0),
        ("starts_window", (60,), 3600.0),
        ("trip_high", (700,), 70e5),
    ],
    ids=lambda item: item if isinstance(item, str) else "",
)
def test_numbers_are_handed_over_in_the_unit_of_their_role(role: str, words: tuple[int, ...], value: float) -> None:
    """Scale, byte order and unit of the sheet give fractions, pascals, amperes, seconds."""
    assert reading_of(xv_1101(), point_of(role), words) == pytest.approx(value, rel=1e-12)


def test_a_bit_is_true_where_the_words_of_its_role_say_so() -> None:
    """`low_fluid` is written with "1 means enough": a 0 in the list is True, low."""
    assert reading_of(xv_1101(), point_of("low_fluid"), (0,)) == 1.0
    assert reading_of(xv_1101(), point_of("low_fluid"), (1,)) == 0.0
    assert reading_of(xv_1101(), point_of("open_limit"), (1,)) == 1.0


@given(st.integers(min_value=0, max_value=0xFFFF))
def test_packed_bits_are_taken_one_by_one(word: int) -> None:
    """Each alarm of the packed word is its own bit, counted from the least significant."""
    for role, bit in (("alarm_run_time", 0), ("alarm_fluid", 3), ("alarm_supply", 8)):
        assert reading_of(xv_1101(), point_of(role), (word,)) == float(bool(word & 2**bit))


def sample_of(travel: float = 50.0, *, alarms: int = 0) -> Sample:
    """One cycle of `PLAN` with the given travel in percent."""
    registers = [*words_of(travel, "f32", "CDAB"), *words_of(50.0, "f32", "CDAB"), *([0] * 12), alarms]
    return Sample(7, (BlockRead(1000, 11, tuple(registers)), BlockRead(2000, 12, (1, 0, 0, 1, 1, 1, 1, 1))))


def test_a_sample_is_decoded_with_the_time_of_each_block() -> None:
    """Readings carry their block's moment and half-width; the sample's own time is that of its last block."""
    readings = Decoder(xv_1101(), PLAN).decode(sample_of(alarms=0b10))
    assert readings["travel"] == Reading(0.5, 1000, 11)
    assert readings["open_limit"] == Reading(1.0, 2000, 12)
    assert (readings.number, readings.at_ns) == (7, 2000)
    assert (readings.bit("open_limit"), readings.bit("closed_limit"), readings.bit("alarm_starts")) == (
        True,
        False,
        True,
    )
    assert readings.value("cylinder_pressure") == 50e5


def test_what_the_plan_does_not_read_is_not_there() -> None:
    """Not read is None, never zero."""
    decoder = Decoder(xv_1101(), PLAN)
    readings = decoder.decode(sample_of())
    assert "identity" not in decoder.roles
    assert readings.get("identity") is None
    assert readings.value("identity") is None
    assert readings.bit("command_open") is None
    with pytest.raises(KeyError):
        readings["identity"]
    assert decoder.roles == frozenset(readings.by_role)


def test_a_plan_that_cuts_a_number_in_half_does_not_read_it() -> None:
    """Of a two-register number both are read in one request, or it is not decoded."""
    decoder = Decoder(xv_1101(), ReadPlan(11, (Block(Table.INPUT, 11, 1), Block(Table.INPUT, 12, 2))))
    assert decoder.roles == {"cylinder_pressure"}


@pytest.mark.parametrize("sent", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_is_no_reading(sent: float) -> None:
    """A unit that sends NaN for a broken transmitter gives no reading; no guard would see NaN, whatever its limit."""
    readings = Decoder(xv_1101(), PLAN).decode(sample_of(sent))
    assert readings.get("travel") is None
    assert readings.value("cylinder_pressure") == 50e5


def test_an_order_of_the_point_wins_over_that_of_the_link() -> None:
    """One point may be swapped where the rest is not."""
    sheet = changed(('address = 10\ntype = "f32"', 'address = 10\ntype = "f32"\norder = "BADC"'))
    point = sheet.point("travel")
    assert point is not None
    assert reading_of(sheet, point, words_of(25.0, "f32", "BADC")) == 0.25


def test_a_list_that_counts_from_1_is_read_one_lower() -> None:
    """The smallest block of a point is at its address on the wire."""
    assert block_of(xv_1101(), point_of("travel")) == Block(Table.INPUT, 10, 2)
    assert block_of(xv_1101(), point_of("open_limit")) == Block(Table.DISCRETE, 0, 1)


def test_readings_can_be_made_by_hand() -> None:
    """Any mapping of roles serves, so that tests and replay need no registers."""
    readings = Readings(1, 5, {"travel": Reading(1.0, 5, 1)})
    assert readings.value("travel") == 1.0

"""From raw registers to readings in the role's unit, each with its own time."""

import math
import struct
from collections.abc import Iterator, Mapping
from functools import cached_property

import msgspec

from commission import quantity
from commission.sample import Block, BlockRead, ReadPlan, Sample, Table
from commission.sheet.model import Sheet
from commission.sheet.points import Point
from commission.sheet.roles import ROLES, RoleKind

_STRUCT_CODES = {"u16": ">H", "i16": ">h", "u32": ">I", "i32": ">i", "f32": ">f"}
_BYTE_POSITIONS = {"ABCD": (0, 1, 2, 3), "CDAB": (2, 3, 0, 1), "BADC": (1, 0, 3, 2), "DCBA": (3, 2, 1, 0)}


class Reading(msgspec.Struct, frozen=True):
    """One value in its role's unit; for a bit 1 is the role's `true_word`. Read within `at_ns` ± `half_width_ns`."""

    value: float
    at_ns: int
    half_width_ns: int

    @property
    def is_true(self) -> bool:
        """The value of a bit."""
        return bool(self.value)


class Registers(msgspec.Struct, frozen=True):
    """
    The raw words behind the readings of one sample.

    Args:
        plan: What was read.

        sample: What came.
    """

    plan: ReadPlan
    sample: Sample

    def word(self, table: Table, address: int) -> int | None:
        """What lies at a wire address, or None where it was not read."""
        for block, read in zip(self.plan.blocks, self.sample.reads, strict=True):
            if block.table is table and 0 <= address - block.address < block.count:
                return read.words[address - block.address]
        return None


class Readings(msgspec.Struct, frozen=True):
    """
    The readings of one sample, by role.

    A role that the plan does not read is simply not there; nor is one whose registers hold no number (a float that is
    NaN or infinite, as a unit sends for a broken sensor): every comparison with NaN is false, so no guard would see it.
    """

    number: int
    at_ns: int
    by_role: Mapping[str, Reading]
    registers: Registers | None = None

    def __getitem__(self, role: str) -> Reading:
        return self.by_role[role]

    def get(self, role: str) -> Reading | None:
        """The reading, or None where there is none."""
        return self.by_role.get(role)

    def value(self, role: str) -> float | None:
        """The number alone, or None."""
        reading = self.by_role.get(role)
        return None if reading is None else reading.value

    def bit(self, role: str) -> bool | None:
        """The bit alone, or None."""
        reading = self.by_role.get(role)
        return None if reading is None else reading.is_true


def number_from_words(words: tuple[int, ...], kind: str, order: str) -> float:
    """
    The number in one or two registers.

    Args:
        words: Register contents as they came, first address first.

        kind: `u16`, `i16`, `u32`, `i32` or `f32`.

        order: Order of the four bytes for 32-bit kinds; ignored for 16 bits.
    """
    raw = b"".join(word.to_bytes(2, "big") for word in words)
    if len(words) == 2:
        arranged = bytearray(4)
        for position, target in enumerate(_BYTE_POSITIONS[order]):
            arranged[target] = raw[position]
        raw = bytes(arranged)
    (number,) = struct.unpack(_STRUCT_CODES[kind], raw)
    return float(number)


def reading_of(sheet: Sheet, point: Point, words: tuple[int, ...]) -> float:
    """
    The value of a point in its role's unit; for a bit 1.0 where the role's `true_word` holds.

    Args:
        sheet: The unit's sheet, for its byte order.

        point: The point to decode.

        words: The words at the point's own addresses.
    """
    role = ROLES[point.role]
    if role.kind is RoleKind.BIT:
        raw_bit = words[0] if point.bit is None else words[0] >> point.bit & 1
        return float((raw_bit == 1) == (point.one_means == role.true_word))
    if point.table.holds_bits:
        return float(words[0])
    number = number_from_words(words, point.type, point.order or sheet.link.order)
    conversion = quantity.conversion(point.unit, role.unit or "1")
    return conversion.apply(number * point.scale)


class Decoder:
    """
    Decodes the samples of one read plan through one sheet.

    Args:
        sheet: The unit's sheet.

        plan: The plan that the samples were read by.
    """

    def __init__(self, sheet: Sheet, plan: ReadPlan) -> None:
        self._sheet = sheet
        self._plan = plan

    @cached_property
    def _places(self) -> tuple[tuple[Point, int, int], ...]:
        return tuple(self._find_places())

    def _find_places(self) -> Iterator[tuple[Point, int, int]]:
        for point in self._sheet.points:
            for index, block in enumerate(self._plan.blocks):
                offset = self._sheet.wire_address(point) - block.address
                if block.table is point.table and 0 <= offset <= block.count - point.words:
                    yield point, index, offset
                    break

    @property
    def roles(self) -> frozenset[str]:
        """The roles that this plan reads."""
        return frozenset(point.role for point, _, _ in self._places)

    def places_by_role(self) -> dict[str, tuple[int, int]]:
        """For each role that this plan reads: which block, and the offset in it."""
        return {point.role: (index, offset) for point, index, offset in self._places}

    def decode(self, sample: Sample) -> Readings:
        """The readings of one sample, taken with the same plan."""
        by_role = {}
        for point, index, offset in self._places:
            read: BlockRead = sample.reads[index]
            value = reading_of(self._sheet, point, read.words[offset : offset + point.words])
            if math.isfinite(value):
                by_role[point.role] = Reading(value, read.at_ns, read.half_width_ns)
        return Readings(sample.number, sample.at_ns, by_role, Registers(self._plan, sample))


def block_of(sheet: Sheet, point: Point) -> Block:
    """The smallest block that reads this point."""
    return Block(point.table, sheet.wire_address(point), point.words)

"""
Readings to registers and settings back, exactly as the sheet's points say.

Written for the practice unit alone: two writers of one format find each other's mistakes.
"""

import math
import struct

from msgspec.structs import replace

from commission.practice.condition import Condition
from commission.practice.mechanism import NotServed
from commission.sheet import ROLES, Point, RoleKind, Sheet

_TO_ROLE_UNIT = {
    "%": 0.01,
    "1": 1.0,
    "": 1.0,
    "bar": 1e5,
    "kPa": 1e3,
    "MPa": 1e6,
    "Pa": 1.0,
    "psi": 6894.757293168,
    "V": 1.0,
    "mV": 1e-3,
    "A": 1.0,
    "mA": 1e-3,
    "°C": 1.0,
    "s": 1.0,
    "min": 60.0,
    "h": 3600.0,
}
"""What one of a sheet's units is in the unit of the role: pascal, ampere, second, volt, degree Celsius, fraction."""

_FORMATS = {"u16": ">H", "i16": ">h", "u32": ">I", "i32": ">i", "f32": ">f"}
_BOUNDS = {"u16": (0, 0xFFFF), "i16": (-0x8000, 0x7FFF), "u32": (0, 0xFFFFFFFF), "i32": (-0x80000000, 0x7FFFFFFF)}


_SWAPPED = {"ABCD": "CDAB", "CDAB": "ABCD", "BADC": "DCBA", "DCBA": "BADC"}


def as_served(sheet: Sheet, condition: Condition) -> Sheet:
    """The sheet as this unit's firmware sees it: another word order, another base or another decimal than written."""
    points = []
    for point in sheet.points:
        changes: dict[str, object] = {}
        if condition.words_swapped and point.words == 2:
            changes["order"] = _SWAPPED[point.order or sheet.link.order]
        if condition.shifted and point.table.value in ("input", "holding"):
            changes["address"] = point.address + 1
        if condition.decimal_slipped and point.bit is None and point.type in ("u16", "i16") and point.scale != 1.0:
            changes["scale"] = point.scale / 10
        points.append(replace(point, **changes) if changes else point)
    return replace(sheet, points=tuple(points))


def check_units(sheet: Sheet) -> None:
    """
    See that every point's unit is one that can be encoded.

    Raises:
        NotServed: one is not.
    """
    for point in sheet.points:
        if point.unit not in _TO_ROLE_UNIT:
            raise NotServed(f"point {point.role!r}: unit {point.unit!r}, expected one of {', '.join(_TO_ROLE_UNIT)}")


def in_role_unit(point: Point, number: float) -> float:
    """A number as the sheet writes this point, in the unit of its role."""
    return number * _TO_ROLE_UNIT[point.unit]


def words_of(sheet: Sheet, point: Point, value: float) -> tuple[int, ...]:
    """
    The registers of a number point.

    Args:
        sheet: For the byte order where the point names none.

        point: Where and how.

        value: In the role's unit; a value beyond the register's range stands at its end.
    """
    number = value / _TO_ROLE_UNIT[point.unit] / point.scale
    if point.type == "f32":
        packed = struct.pack(">f", number)
    else:
        low, high = _BOUNDS[point.type]
        packed = struct.pack(_FORMATS[point.type], min(max(math.floor(number + 0.5), low), high))
    if len(packed) == 2:
        return struct.unpack(">H", packed)
    order = point.order or sheet.link.order
    return struct.unpack(">HH", bytes(packed["ABCD".index(letter)] for letter in order))


def value_of(sheet: Sheet, point: Point, words: tuple[int, ...]) -> float:
    """A written number, in the role's unit."""
    raw = struct.pack(f">{len(words)}H", *words)
    if len(raw) == 4:
        order = point.order or sheet.link.order
        raw = bytes(raw[order.index(letter)] for letter in "ABCD")
    return float(struct.unpack(_FORMATS[point.type], raw)[0]) * point.scale * _TO_ROLE_UNIT[point.unit]


def bit_of(point: Point, value: float) -> int:
    """The bit on the wire: 1 where the reading is the word that the sheet says 1 stands for."""
    role = ROLES[point.role]
    if role.kind is not RoleKind.BIT:
        return 0  # a command's coil has fallen back by the time anybody reads it
    return int(bool(value) == (point.one_means == role.true_word))

"""The words to write for a point, and the raw number for a value in its role's unit: `sheet.decode` backwards."""

import struct

from commission import quantity
from commission.link.faults import WriteRefused
from commission.sheet import ROLES, Point, Sheet

_STRUCT_CODES = {"u16": ">H", "i16": ">h", "u32": ">I", "i32": ">i"}
_BYTE_POSITIONS = {"ABCD": (0, 1, 2, 3), "CDAB": (2, 3, 0, 1), "BADC": (1, 0, 3, 2), "DCBA": (3, 2, 1, 0)}


def raw_of(point: Point, value: float) -> float:
    """
    The number to write to a point so that it reads `value` in its role's unit.

    Args:
        point: A setting or a set point.

        value: In the role's unit (`ROLES[point.role].unit`).

    Returns:
        A whole number for a whole-number register, rounded half to even; as it is for `f32`.
    """
    conversion = quantity.conversion(point.unit, ROLES[point.role].unit or "1")
    raw = conversion.undo(value) / point.scale
    return raw if point.type == "f32" else round(raw)


def words_of(sheet: Sheet, point: Point, raw: float) -> tuple[int, ...]:
    """
    The words that carry a raw number, first address first.

    Raises:
        WriteRefused: it does not fit in the point.
    """
    if point.table.holds_bits:
        if raw not in (0, 1):
            raise WriteRefused(f"{raw} cannot be written to the coil of {ROLES[point.role].label}: 0 or 1")
        return (int(raw),)
    packed = _packed(point, raw)
    if len(packed) == 4:
        positions = _BYTE_POSITIONS[point.order or sheet.link.order]
        packed = bytes(packed[position] for position in positions)
    return tuple(int.from_bytes(packed[at : at + 2], "big") for at in range(0, len(packed), 2))


def _packed(point: Point, raw: float) -> bytes:
    try:
        if point.type == "f32":
            return struct.pack(">f", raw)
        if raw == int(raw):
            return struct.pack(_STRUCT_CODES[point.type], int(raw))
    except (struct.error, OverflowError, ValueError):
        pass
    raise WriteRefused(f"{raw:g} does not fit in the {point.type} register of {ROLES[point.role].label}")

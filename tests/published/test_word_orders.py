"""
Word and byte orders of 32-bit values in two registers.

The registers below are computed with `struct` (IEEE 754 binary32; C): no published table is claimed. Addresses against
numbers: Modbus Application Protocol V1.1b3, 4.4 and 6.3 (letters R and M beside the check).
"""

import math
import struct

import pytest

from commission.sheet.decode import number_from_words

VECTORS = {
    ("f32", 87.3): ("42AE 999A", "999A 42AE", "AE42 9A99", "9A99 AE42"),
    ("f32", 12.34): ("4145 70A4", "70A4 4145", "4541 A470", "A470 4541"),
    ("f32", -3.25): ("C050 0000", "0000 C050", "50C0 0000", "0000 50C0"),
    ("f32", 100.0): ("42C8 0000", "0000 42C8", "C842 0000", "0000 C842"),
    ("u32", 123456): ("0001 E240", "E240 0001", "0100 40E2", "40E2 0100"),
}
"""Value → registers in ABCD, CDAB, BADC, DCBA (C)."""

ORDERS = ("ABCD", "CDAB", "BADC", "DCBA")


def words(text: str) -> tuple[int, ...]:
    """Registers from hexadecimal."""
    return tuple(int(word, 16) for word in text.split())


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize(("kind", "value"), VECTORS, ids=str)
def test_registers_in_each_order(kind: str, value: float, order: str) -> None:
    """The same value comes out of each of the four arrangements (C)."""
    registers = words(VECTORS[kind, value][ORDERS.index(order)])
    expected = struct.unpack(">f", struct.pack(">f", value))[0] if kind == "f32" else value
    assert number_from_words(registers, kind, order) == expected


@pytest.mark.parametrize(("kind", "value"), VECTORS, ids=str)
def test_the_vectors_agree_with_struct(kind: str, value: float) -> None:
    """`struct` gives the same bytes as independent reference: big and little endian, whole and with words swapped."""
    code = "f" if kind == "f32" else "I"
    packed = value if kind == "f32" else int(value)
    big, little = struct.pack(f">{code}", packed), struct.pack(f"<{code}", packed)
    arranged = (big, big[2:] + big[:2], little[2:] + little[:2], little)
    assert tuple(words(text) for text in VECTORS[kind, value]) == tuple(struct.unpack(">2H", raw) for raw in arranged)


def test_a_wrong_order_shows_a_number_that_looks_like_zero() -> None:
    """100 % sent as CDAB and read as ABCD is 2.4e-41, shown as 0.00: why a sheet states the order (C)."""
    wrong = number_from_words(words("0000 42C8"), "f32", "ABCD")
    assert wrong == pytest.approx(2.4e-41, rel=0.01)
    assert f"{wrong:.2f}" == "0.00"


@pytest.mark.parametrize(
    ("registers", "kind", "value"),
    [("FFFF", "u16", 65535), ("FFFF", "i16", -1), ("8000", "i16", -32768), ("7FFF", "i16", 32767)],
)
def test_sixteen_bits_with_and_without_sign(registers: str, kind: str, value: int) -> None:
    """Two's complement (C)."""
    assert number_from_words(words(registers), kind, "ABCD") == value


@pytest.mark.parametrize(
    ("registers", "kind", "value"),
    [("FFFF FFFF", "i32", -1), ("8000 0000", "i32", -(2**31)), ("FFFF FFFF", "u32", 2**32 - 1)],
)
def test_thirty_two_bits_with_and_without_sign(registers: str, kind: str, value: int) -> None:
    """Two's complement (C)."""
    assert number_from_words(words(registers), kind, "ABCD") == value


def test_not_a_number_is_seen_as_such() -> None:
    """7FC0 0000 is a quiet NaN (IEEE 754 binary32; C)."""
    assert math.isnan(number_from_words(words("7FC0 0000"), "f32", "ABCD"))

"""Words to write, against the decoding that reads them back."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.link.encode import raw_of, words_of
from commission.link.faults import WriteRefused
from commission.sample import Table
from commission.sheet import Point, WriteClass
from commission.sheet.decode import number_from_words, reading_of
from tests.link.lines import demo_sheet

SHEET = demo_sheet()
RANGES = {"u16": (0, 65535), "i16": (-32768, 32767), "u32": (0, 2**32 - 1), "i32": (-(2**31), 2**31 - 1)}


def _setting(type_: str, order: str | None = None, scale: float = 1.0, unit: str = "bar") -> Point:
    return Point(
        role="trip_high",
        table=Table.HOLDING,
        address=20,
        type=type_,  # type: ignore[arg-type]  # one of RANGES
        order=order,  # type: ignore[arg-type]  # one of the four orders
        scale=scale,
        unit=unit,
        write=WriteClass.SETTING,
    )


@given(st.data(), st.sampled_from(sorted(RANGES)), st.sampled_from(["ABCD", "CDAB", "BADC", "DCBA"]))
def test_words_read_back_as_the_number(data: st.DataObject, type_: str, order: str) -> None:
    """For every type and byte order the decoder gives back what was encoded."""
    number = data.draw(st.integers(*RANGES[type_]))
    assert number_from_words(words_of(SHEET, _setting(type_, order), number), type_, order) == number


def test_value_in_the_roles_unit_becomes_the_raw_number() -> None:
    """10.5 bar in tenths of a bar is 105, asked for in pascal, and reads back the same."""
    point = _setting("u16", scale=0.1)
    assert raw_of(point, 10.5e5) == 105
    assert reading_of(SHEET, point, words_of(SHEET, point, raw_of(point, 10.5e5))) == pytest.approx(10.5e5)
    assert raw_of(_setting("f32"), 10.5e5) == pytest.approx(10.5)


@pytest.mark.parametrize(
    ("type_", "raw"), [("u16", 65536), ("u16", -1), ("u16", 1.5), ("i16", 40000), ("u32", 2**32), ("f32", 1e300)]
)
def test_what_does_not_fit_is_refused(type_: str, raw: float) -> None:
    """A number outside the register is refused with the point's name, never wrapped round."""
    with pytest.raises(WriteRefused, match=r"does not fit in the .* register of high trip"):
        words_of(SHEET, _setting(type_), raw)


def test_coil_takes_nought_or_one() -> None:
    """Nothing else is written to a coil."""
    coil = msgspec.structs.replace(_setting("u16"), table=Table.COIL)
    assert words_of(SHEET, coil, 1) == (1,)
    with pytest.raises(WriteRefused, match="0 or 1"):
        words_of(SHEET, coil, 2)

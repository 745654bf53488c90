"""Tests of units at the edges: what is typed, what sheets are written in."""

import math
import subprocess
import sys
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission import quantity
from commission.quantity import NumberError, UnitError, conversion, parse

PAIRS = [
    ("bar", "Pa"), ("psi", "Pa"), ("psi", "bar"), ("kPa", "bar"), ("MPa", "Pa"), ("kgf/cm²", "bar"), ("%", "1"),
    ("mA", "A"), ("mV", "V"), ("°C", "degC"), ("F", "degC"), ("°F", "K"), ("min", "s"), ("h", "s"), ("ms", "s"),
    ("ft·lbf", "N·m"), ("l/min", "m³/s"), ("MΩ", "ohm"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12,5", "mA", 12.5),
        ("12.5 mA", "A", 0.0125),
        ("12.5mA", "mA", 12.5),
        ("12.5 MA", "mA", 12.5),
        ("1.2e3 psi", "bar", 82.7370875),
        ("1E3PSI", "bar", 68.94757293),
        ("85 F", "degC", 29.44444444444),
        ("-40 °F", "degC", -40.0),
        ("−3,25", "V", -3.25),
        ("-3.25", "V", -3.25),
        ("+7", "V", 7.0),
        (" 5. ", "V", 5.0),
        (",5", "V", 0.5),
        ("0,125", "V", 0.125),
        ("12,50 bar g", "bar", 12.5),
        ("100 psig", "bar", 6.894757293),
        ("50 %", "1", 0.5),
        ("2 min", "s", 120.0),
        ("0", "degC", 0.0),
    ],
)  # fmt: skip
def test_numbers_are_taken_as_people_write_them(text: str, unit: str, value: float) -> None:
    """Comma or point, with or without a unit in any case, a proper minus sign: understood and kept as typed."""
    typed = parse(text, unit)
    assert typed.value == pytest.approx(value, rel=1e-9, abs=1e-9)
    assert (typed.text, typed.unit) == (text.strip(), unit)


@pytest.mark.parametrize(
    "text",
    ["1.000,5", "1,000.5", "1,000", "-12,500", "1'000", "1 000", "12.5.3", "1.5\n7"],
)
def test_a_number_with_two_meanings_is_refused(text: str) -> None:
    """Nobody on site can tell a thousands separator from a decimal comma; the sentence says how to type it."""
    with pytest.raises(NumberError, match=r"two ways; type it without a thousands separator"):
        parse(text, "bar")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing was typed"),
        ("  \t", "nothing was typed"),
        ("abc", "'abc' is not a number; type it as 12.5 or 12,5 with a unit if it is not bar"),
        ("nan", "is not a number"),
        ("inf", "is not a number"),
        ("--5", "is not a number"),
        ("1e999", "too large"),
        ("9" * 400, "too large"),
        ("3;4", "';4' after the number is not a unit"),
        ("5 bar**bar", "is not a unit"),
        ("5 x^9^99^99", "is not a unit"),
        ("5 " + "b" * 5000 + "!", "is not a unit"),
    ],
    ids=lambda item: item[:12],
)
def test_absurd_input_is_refused_with_a_sentence(text: str, words: str) -> None:
    """What is no number, or followed by what is no unit, is refused at once and in words."""
    with pytest.raises(NumberError) as refused:
        parse(text, "bar")
    assert words in str(refused.value)
    assert len(str(refused.value)) < 160


@pytest.mark.parametrize("text", ["5 furlong", "5 blorp", "5 mA", "5 bar bar", "5 dBm", "5 m^9"])
def test_a_unit_that_measures_something_else_is_refused(text: str) -> None:
    """Unknown units and units of other things are told with both names."""
    with pytest.raises(UnitError, match="cannot be given in 'bar'"):
        parse(text, "bar")


@given(st.text(max_size=30) | st.from_regex(r"\A[-+]?[0-9][0-9.,eE+ -]{0,12} ?[a-zA-Z°%/*^0-9]{0,8}\Z"))
def test_any_text_is_a_finite_number_or_refused(text: str) -> None:
    """No typed text gives NaN, infinity or an error of another kind."""
    try:
        typed = parse(text, "bar")
    except (NumberError, UnitError):
        return
    assert math.isfinite(typed.value)


@pytest.mark.parametrize(("source", "target"), PAIRS, ids=lambda unit: unit)
@given(number=st.floats(min_value=-1e9, max_value=1e9))
def test_conversion_there_and_back(source: str, target: str, number: float) -> None:
    """A number converted and back is the number, to a few parts in 10¹³ of what was added on the way."""
    there = conversion(source, target)
    back = there.undo(there.apply(number))
    assert back == pytest.approx(number, rel=1e-12, abs=1e-12 * max(1.0, abs(there.offset / there.scale)))


@pytest.mark.parametrize(("source", "target"), PAIRS, ids=lambda unit: unit)
@given(number=st.floats(min_value=-1e6, max_value=1e6))
def test_both_directions_agree(source: str, target: str, number: float) -> None:
    """The conversion from B to A undoes that from A to B."""
    there, back = conversion(source, target), conversion(target, source)
    assert back.apply(there.apply(number)) == pytest.approx(number, rel=1e-11, abs=1e-9)


def test_the_short_list_agrees_with_the_unit_library() -> None:
    """Conversions that do not ask the library give what it gives (pint as independent reference)."""
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    for (source, target), scale in quantity._DECIMAL.items():
        names = [quantity._ALIASES.get(unit, unit) for unit in (source, target)]
        difference = registry.Quantity(1.0, names[0]).to(names[1]) - registry.Quantity(0.0, names[0]).to(names[1])
        assert float(difference.magnitude) == pytest.approx(scale, rel=1e-12), (source, target)
        assert conversion(source, target).offset == 0.0


def test_a_difference_of_temperature_has_no_zero() -> None:
    """50 °F of rise are 27.8 K (NIST SP 811, B.9; recomputed): never minus or plus 32."""
    for source in ("F", "°F", "degF"):
        assert conversion(source, "K").apply_difference(50.0) == pytest.approx(27.777777778, rel=1e-9)
        assert conversion(source, "degC").apply_difference(50.0) == pytest.approx(27.777777778, rel=1e-9)


def test_the_same_unit_is_left_alone() -> None:
    """No arithmetic touches a number that is in its unit already."""
    assert conversion("bar", "bar") == quantity.Conversion(1.0, 0.0)


@pytest.mark.parametrize("unit", ["2**99999999", "9^99^99", "", " ", "bar;", "__import__('os')"])
def test_nothing_but_a_unit_reaches_the_unit_library(unit: str) -> None:
    """A power of a power would keep the library busy for minutes; what is no unit never gets there."""
    with pytest.raises(UnitError):
        conversion(unit, "V")


def test_the_bottom_layers_load_nothing_slow() -> None:
    """Importing the sheet package, and reading a sheet in the usual units, loads no slow library."""
    code = (
        "import sys, commission.sheet, commission.checklist, commission.energy, commission.quantity\n"
        "from commission.content import checklists_folder\n"
        "commission.sheet.load_sheet(checklists_folder() / 'units' / 'xv-1101.toml')\n"
        "print(sorted({'pint', 'pymodbus', 'numpy', 'textual', 'scipy', 'serial'} & set(sys.modules)))\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"

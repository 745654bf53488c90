"""Tests of an instrument's language (SCPI-1999 and IEEE 488.2, from memory)."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.scpi import Instrument, header_pattern, number_text


def clamp() -> Instrument:
    """A clamp that reads 12.34 mA."""
    return Instrument("PRACTICE,BENCH,M-03,1.0", {"MEASure:CURRent[:DC]": lambda: 0.01234})


@pytest.mark.parametrize(
    "asked", ["MEAS:CURR:DC?", "MEASURE:CURRENT?", "meas:curr?", ":MEAS:CURR:DC?", "Measure:Current:Dc? 100E-3"]
)
def test_short_and_long_forms_are_the_same_question(asked: str) -> None:
    """In any case, with or without the default node, with or without a parameter."""
    assert clamp().answer(asked) == "+1.234000E-02"


@pytest.mark.parametrize("asked", ["MEASU:CURR?", "MEAS:VOLT?", "MEAS:CURR", "MEAS?", "CURR?"])
def test_what_is_not_understood_is_not_answered(asked: str) -> None:
    """Silence, and an error in the queue until it is asked for."""
    instrument = clamp()
    assert instrument.answer(asked) == ""
    assert instrument.answer("SYST:ERR?") == '-113,"Undefined header"'
    assert instrument.answer("SYSTEM:ERROR:NEXT?") == '0,"No error"'


def test_common_commands() -> None:
    """Who it is; clear; operation complete; several in one line."""
    instrument = clamp()
    assert instrument.answer("*IDN?").split(",")[2] == "M-03"
    instrument.answer("NONSENSE?")
    assert instrument.answer("*CLS") == ""
    assert instrument.answer("SYST:ERR?;*OPC?") == '0,"No error";1'


def test_the_error_queue_overflows_as_it_should() -> None:
    """Twenty, the last of which says so."""
    instrument = clamp()
    for _ in range(30):
        instrument.answer("X?")
    errors = [instrument.answer("SYST:ERR?") for _ in range(21)]
    assert errors[18].startswith("-113")
    assert errors[19] == '-350,"Queue overflow"'
    assert errors[20].startswith("0")


@given(st.floats(-1e6, 1e6))
def test_numbers_are_read_back(value: float) -> None:
    """Seven digits of every number, as NR3 writes them."""
    text = number_text(value)
    assert re.fullmatch(r"[+-]\d\.\d{6}E[+-]\d{2,3}", text)
    assert float(text) == pytest.approx(value, rel=1e-6, abs=1e-300)


def test_a_header_is_a_pattern() -> None:
    """The short form is the capitals."""
    assert re.fullmatch(header_pattern("SOURce:CURRent[:LEVel]"), "SOUR:CURR:LEV?")
    assert not re.fullmatch(header_pattern("SOURce:CURRent[:LEVel]"), "SOU:CURR?")

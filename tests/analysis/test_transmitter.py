"""Tests of what the instrument behind a point adds to a budget."""

import msgspec
import pytest

from commission.analysis.transmitter import digit_step, instrument_lines, own_error
from commission.sheet.points import Transmitter
from tests.analysis.seen import SHEET


def test_the_transmitters_own_error_is_in_the_roles_unit() -> None:
    """0.5 % of 0 to 160 bar is 0.8 bar: 80,000 Pa either way."""
    line = own_error(SHEET, "cylinder_pressure")
    assert line is not None
    assert line.width == pytest.approx(80_000)
    assert line.name == "transmitter, 0.5 % of 0 to 160 bar"


def test_a_sheet_that_does_not_say_gives_no_line() -> None:
    """Nothing is made up for it, nor for a point that is not there."""
    assert own_error(SHEET, "motor_current") is None
    assert own_error(SHEET, "cylinder_pressure_b") is None
    assert digit_step(SHEET, "cylinder_pressure_b") == 0.0


def test_a_whole_register_has_a_last_digit_and_a_float_has_none() -> None:
    """0.01 A a count; the pressure is a float."""
    assert digit_step(SHEET, "motor_current") == pytest.approx(0.01)
    assert digit_step(SHEET, "cylinder_pressure") == 0.0
    assert [line.name for line in instrument_lines(SHEET, "motor_current")] == ["last digit of the register"]


def test_a_range_without_width_is_refused() -> None:
    """The sheet says which way round."""
    with pytest.raises(ValueError, match="low below high"):
        Transmitter(low=160.0, high=0.0, accuracy_pct=0.5)
    with pytest.raises(msgspec.ValidationError, match="accuracy_pct"):
        msgspec.convert({"low": 0.0, "high": 1.0, "accuracy_pct": 0.0}, Transmitter)

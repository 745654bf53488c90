"""Tests of what the registers hold, by role."""

import pytest

from commission.practice.instruments import Noise
from commission.practice.readings import readings_of
from tests.practice.made import BDV, FCV, SHEETS, unit_of


@pytest.mark.parametrize("tag", SHEETS)
def test_every_measured_role_of_the_sheet_is_read(tag: str) -> None:
    """No point of a sheet is left without a reading but the commands."""
    unit = unit_of(SHEETS[tag])
    readings = readings_of(unit, Noise(1, 1))
    roles = {point.role for point in unit.sheet.points if not point.role.startswith("command_") or point.unit != "1"}
    assert roles <= readings.keys()


def test_a_modulating_unit_reads_both_sides_and_its_command() -> None:
    """Closed at 4 mA: command and feedback agree, the system stands at cut-out."""
    readings = unit_of(FCV).readings()
    assert readings["command_current"] == pytest.approx(0.004, abs=5e-6)
    assert readings["feedback_current"] == pytest.approx(0.004, abs=2e-5)
    assert readings["system_pressure"] == pytest.approx(105e5, rel=0.01)
    assert readings["set_point"] == 0.0


def test_without_the_loops_supply_there_is_no_current() -> None:
    """Knife links open: 0 mA in and out, not 4."""
    unit = unit_of(FCV)
    unit.side.loop_24v = False
    unit.advance(0.1)
    assert unit.readings()["feedback_current"] == 0.0
    assert unit.readings()["command_current"] < 1e-4


def test_the_supply_reading_is_that_of_the_control_unit() -> None:
    """24 V where the motor has 120."""
    assert unit_of(BDV).readings()["supply_voltage"] == pytest.approx(24.37, abs=0.03)

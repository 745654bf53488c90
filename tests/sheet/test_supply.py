"""Tests of what a sheet says of supply and surroundings."""

import pytest

from commission.content import checklists_folder
from commission.sheet import load_sheet

UNITS = checklists_folder() / "units"


@pytest.mark.parametrize(
    ("unit", "phases", "motor_v"),
    [("xv-1101", "DC", 24.0), ("fcv-2204", "three-phase", 480.0), ("bdv-3307", "single-phase", 120.0)],
)
def test_each_kind_of_supply_is_written(unit: str, phases: str, motor_v: float) -> None:
    """Direct current, one phase and three; the control unit's 24 V stands beside the motor's."""
    supply = load_sheet(UNITS / f"{unit}.toml")[0].supply
    assert (supply.phases, supply.motor_v, supply.control_v) == (phases, motor_v, 24.0)
    assert supply.cable_m is not None
    assert supply.cable_mm2 is not None


def test_a_heater_has_its_thermostat() -> None:
    """Only the unit with a heater names when it is on, when off, and when the pump may not start."""
    surroundings = load_sheet(UNITS / "bdv-3307.toml")[0].environment
    assert (surroundings.heater_w, surroundings.heater_on_c, surroundings.heater_off_c) == (150.0, 5.0, 12.0)
    assert surroundings.pump_inhibited_below_c == -5.0
    assert load_sheet(UNITS / "xv-1101.toml")[0].environment.heater_w is None

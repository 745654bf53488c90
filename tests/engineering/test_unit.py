"""Tests of the parts that are made from a sheet, and what is left out where it is silent."""

import pytest

from commission.engineering.unit import REFERENCE_C
from commission.sheet.model import End
from tests.engineering.units import changed_unit, unit_of


def test_the_effective_area_holds_at_the_reference_temperature() -> None:
    """The line's share at 20 °C is in the area; colder oil adds to it, warmer oil takes nothing off."""
    unit = unit_of("xv-1101")
    at_20, cold, warm = (unit.way_out(celsius) for celsius in (REFERENCE_C, -40.0, 40.0))
    assert at_20 is not None
    assert cold is not None
    assert warm is not None
    assert at_20.line_pa_s_m3 == warm.line_pa_s_m3 == 0.0
    assert cold.flow_m3_s(50e5) < at_20.flow_m3_s(50e5)


def test_a_silent_sheet_makes_none_rather_than_a_guess() -> None:
    """No area, no accumulator, no table of viscosity."""
    assert changed_unit("xv-1101", "orifices", spring_stroke_mm2=None).way_out() is None
    unit = changed_unit("xv-1101", "fluid", viscosity_at_c={"40": 14.0})
    assert unit.oil is None
    assert unit.viscosity_m2_s(20.0) == 0.0
    assert unit_of("xv-1101").viscosity_m2_s(-60.0) == 0.0  # beyond the table of a thickened oil


def test_the_accumulator_follows_its_gas() -> None:
    """Colder nitrogen, less precharge; at the sheet's temperature just the sheet's."""
    unit = unit_of("xv-1101")
    there, cold = unit.charge_at(20.0), unit.charge_at(-20.0)
    assert there is not None
    assert cold is not None
    assert there.precharge_abs_pa == pytest.approx(96.01325e5, rel=1e-9)
    assert cold.precharge_abs_pa == pytest.approx(79.9e5, rel=2e-3)


def test_the_pump_meets_its_efficiency_in_its_ordinary_work() -> None:
    """On the empty-line stroke, and between the switch points of a unit that fills an accumulator."""
    unit = unit_of("fcv-2204")
    assert unit.pump.flow_m3_s(95e5, unit.reference_m2_s) == pytest.approx(unit.pump.stated_m3_s, rel=1e-9)
    assert unit.flow_control_m3_s(End.OPEN) == pytest.approx(2.285 / 60_000, rel=1e-12)
    assert unit_of("xv-1101").flow_control_m3_s(End.OPEN) is None
    assert unit.cut_in_pa < unit.cut_out_pa
    assert unit.bulk_pa == 1.4e9
    assert unit.empty_share == 0.5

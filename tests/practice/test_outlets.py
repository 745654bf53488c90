"""How oil leaves: orifices, the line behind them, relief valve and leaks, held against the textbook law."""

import math

import pytest

from commission.practice.condition import Condition
from commission.practice.oil import Space
from commission.practice.outlets import Leaks, Outlets, Ways
from tests.practice.made import SHEET


def outlets(**condition: float) -> Outlets:
    """Those of XV-1101."""
    return Outlets(SHEET, Condition(**condition))  # type: ignore[arg-type]  # names checked by Condition


def dumped(found: Outlets, pressure_pa: float) -> float:
    """Flow through the open dump alone."""
    return found.leaving_m3_s(pressure_pa, found.jets(Ways(dump_open=True), accumulator_isolated=True), 0.0)


def test_the_dump_follows_the_orifice_law() -> None:
    """Q = Cd·a·√(2p/ρ), the textbook's, at 20 °C where the line counts for nothing; half the area is half of it."""
    area_m2, pressure_pa = (SHEET.orifices.spring_stroke_mm2 or 0) * 1e-6, 30e5
    law = area_m2 * math.sqrt(2 * pressure_pa / SHEET.fluid.density_kg_m3)
    found = outlets()
    assert dumped(found, pressure_pa) == pytest.approx(law, rel=0.02)
    assert dumped(found, 4 * pressure_pa) == pytest.approx(2 * dumped(found, pressure_pa), rel=0.02)
    found.set_needles(0.5)
    assert dumped(found, pressure_pa) == pytest.approx(law / 2, rel=0.02)


def test_cold_oil_leaves_slower_and_leaks_less() -> None:
    """The line behind the needle holds thick oil back."""
    found = outlets(dump_leak_ml_h=50.0)
    warm = dumped(found, 40e5), found.leak(pumping=True)
    found.thicken(-20.0)
    assert dumped(found, 40e5) < warm[0]
    assert found.leak(pumping=True) < warm[1]


def test_the_relief_valve_lets_go_above_its_setting() -> None:
    """Below it nothing leaves by it."""
    found, relief_pa = outlets(), SHEET.pump.relief_bar * 1e5
    assert not found.relieving(relief_pa)
    assert found.relieving(relief_pa + 1)
    assert found.leaving_m3_s(relief_pa, {}, 0.0) == 0.0
    assert found.leaving_m3_s(relief_pa + 1e5, {}, 0.0) > 0.0


def test_back_pressure_holds_the_dump_and_not_the_bleeds() -> None:
    """Below it only the bleed lets oil out; the accumulator's bleed counts while its valve is open."""
    found = outlets(return_back_pressure_bar=6.0)
    assert dumped(found, 5e5) == 0.0
    ways = Ways(cylinder_bleed=0.5, accumulator_bleed=0.5)
    open_too, shut = (found.jets(ways, accumulator_isolated=isolated) for isolated in (False, True))
    assert open_too[0.0] == pytest.approx(2 * shut[0.0])


def test_the_check_valve_leaks_only_while_the_pump_stands() -> None:
    """What leaves the unit is spilled, the rest is back in the tank."""
    found = outlets(check_leak_ml_h=30.0, external_leak_ml_h=10.0)
    assert found.leak(pumping=False) == pytest.approx(4 * found.leak(pumping=True))
    assert found.spilled_m3(115e5, 3600.0) == pytest.approx(10e-6)
    assert Leaks.of(Condition()).per_pa(pumping=False) == 0.0


def test_a_line_drains_through_its_bleed_and_never_below_nothing() -> None:
    """Longer open, less oil left."""
    line = Space(volume_m3=20e-6)
    full = line.stored_m3(50e5)
    left = [outlets().drained_m3(line, full, seconds) for seconds in (1e-4, 1e-3, 10.0)]
    assert full > left[0] > left[1] >= left[2] >= 0.0

"""Tests of the oil: viscosity against published and tabled values, losses in lines, suction."""

import pytest

from commission.practice.fluid import Oil
from tests.practice.made import BDV, SHEET


@pytest.mark.parametrize(("celsius", "mm2_s"), [(80, 8.5), (20, 86), (0, 336), (-10, 805), (-20, 2290)])
def test_viscosity_of_vg_32(celsius: float, mm2_s: float) -> None:
    """ISO VG 32 of 32 and 5.4 mm²/s, by the chart of ASTM D341 (8.5 at 80 °C is its example; the rest computed)."""
    assert Oil(BDV.fluid).viscosity_m2_s(celsius) * 1e6 == pytest.approx(mm2_s, rel=0.01)


def test_the_table_is_kept() -> None:
    """A low-temperature oil goes through its own points."""
    oil = Oil(SHEET.fluid)
    assert oil.viscosity_m2_s(40) * 1e6 == pytest.approx(14.0)
    assert oil.viscosity_m2_s(-40) * 1e6 == pytest.approx(490.0)


def test_line_loss_grows_with_viscosity() -> None:
    """29.5 L/min through 2 m of 8 mm: 41 bar at 490 mm²/s (trade guide 3.3), less what the sheet's areas hold."""
    oil = Oil(SHEET.fluid)
    at_reference_bar = 1.2 / 14 * oil.viscosity_m2_s(20) * 1e6
    loss_bar = oil.line_pa_s_m3(-40) * 29.5 / 60_000 / 1e5
    assert loss_bar == pytest.approx(41.0 - at_reference_bar, rel=0.03)
    assert oil.line_pa_s_m3(20) == oil.line_pa_s_m3(60) == 0.0


def test_a_blocked_suction_is_worse_when_cold() -> None:
    """Half the flow at 20 °C, less at 0; a clear one gives all."""
    oil = Oil(BDV.fluid)
    assert oil.suction_share(20, 0.0) == oil.suction_share(0, 0.0) == 1.0
    assert oil.suction_share(20, 0.5) == pytest.approx(0.5)
    assert oil.suction_share(0, 0.5) < 0.5 < oil.suction_share(40, 0.5)


def test_cold_oil_starves_the_pump() -> None:
    """Above 1000 mm²/s even a clear strainer passes less."""
    assert Oil(BDV.fluid).suction_share(-20, 0.0) < 0.8


def test_another_oil_is_thicker_everywhere() -> None:
    """Three times the viscosity, and it leaks a third."""
    thick = Oil(BDV.fluid, 3.0)
    assert thick.viscosity_m2_s(20) == pytest.approx(3 * Oil(BDV.fluid).viscosity_m2_s(20))
    assert thick.thinness(20) == pytest.approx(1 / 3)
    assert thick.line_pa_s_m3(20) > 0

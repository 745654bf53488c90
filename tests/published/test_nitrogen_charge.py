"""
Accumulator and nitrogen against published values 18.

Referees: CoolProp, whose reference equation for nitrogen (R. Span and others, J. Phys. Chem. Ref. Data 29, 2000) is
another and longer one than ours (R. Span, W. Wagner, Int. J. Thermophys. 24, 2003, stated within 0.2 % in density), and
`chemicals` for the constants and the second virial coefficient.
"""

import chemicals
import pytest
from chemicals.virial import BVirial_Tsonopoulos_extended
from CoolProp.CoolProp import PropsSI

from commission.engineering import nitrogen
from commission.engineering.accumulator import Charge, absolute_pa, ideal_precharge_pa, volume_for_m3
from tests.published.rows import rows_of

PSI = 6894.757293168
GALLON = 3.785411784e-3
NITROGEN = "7727-37-9"
TABLE = rows_of("nitrogen_precharge_over_temperature.csv")


def test_oilfield_bottle() -> None:
    """18.1: 10 US gal, precharge 1000, 1200 to 3000 psi as given: gas 8.33 and 3.33, usable 5.0 gal (R, C)."""
    bottle = Charge(volume_m3=10 * GALLON, precharge_abs_pa=1000 * PSI)
    gas = [10 - bottle.oil_m3(psi * PSI) / GALLON for psi in (1200, 3000)]
    assert gas == pytest.approx([8.33, 3.33], abs=0.01)
    assert bottle.usable_m3(1200 * PSI, 3000 * PSI) / GALLON == pytest.approx(5.0, abs=0.01)


def test_oilfield_bottle_in_absolute_pressure() -> None:
    """18.2: the same as gauge pressures, 14.696 psi of atmosphere: 4.9877 gal (C)."""
    bottle = Charge(volume_m3=10 * GALLON, precharge_abs_pa=1014.696 * PSI)
    assert bottle.usable_m3(1214.696 * PSI, 3014.696 * PSI) / GALLON == pytest.approx(4.9877, abs=1e-4)


@pytest.mark.parametrize(("exponent", "litres"), [(1.0, 2.23099), (1.25, 2.56764), (1.4, 2.77441)])
def test_size_for_a_litre(exponent: float, litres: float) -> None:
    """18.3: 1.0 L between 200 and 100 bar gauge, precharge 90 (2.77 L for n = 1.4: R; all C)."""
    found = volume_for_m3(1e-3, absolute_pa(90e5), absolute_pa(100e5), absolute_pa(200e5), exponent)
    assert found * 1e3 == pytest.approx(litres, abs=1e-5)


def test_gauge_pressure_in_a_gas_law_is_seen() -> None:
    """18.4: gauge pressures taken as absolute give 2.76103 L; the half per cent must show (C)."""
    wrong = volume_for_m3(1e-3, 90e5, 100e5, 200e5, 1.4) * 1e3
    assert wrong == pytest.approx(2.76103, abs=1e-5)
    assert volume_for_m3(1e-3, absolute_pa(90e5), absolute_pa(100e5), absolute_pa(200e5), 1.4) * 1e3 > wrong + 0.01


@pytest.mark.parametrize(("exponent", "litres"), [(1.0, 3.66475), (1.4, 3.18104)])
def test_ten_litres(exponent: float, litres: float) -> None:
    """18.5: 10 L, precharge 70, 100 to 210 bar gauge (C)."""
    bottle = Charge(volume_m3=10e-3, precharge_abs_pa=absolute_pa(70e5))
    assert bottle.usable_m3(absolute_pa(100e5), absolute_pa(210e5), exponent) * 1e3 == pytest.approx(litres, abs=1e-5)


@pytest.mark.parametrize(("celsius", "bar"), [(-40, 79.33), (-20, 86.22), (0, 93.11), (40, 106.89), (60, 113.78)])
def test_ideal_precharge(celsius: float, bar: float) -> None:
    """18.9: 100 bar gauge at 20 °C by p/T constant in absolute pressure (C)."""
    assert ideal_precharge_pa(100e5, 20.0, celsius) / 1e5 == pytest.approx(bar, abs=0.01)


@pytest.mark.parametrize("row", TABLE, ids=lambda r: f"{r['precharge_bar_gauge_at_20C']} at {r['gas_temperature_C']}")
def test_precharge_table(row: dict[str, str]) -> None:
    """18.12: ideal to the printed digit; real within 0.2 % of absolute pressure, what our equation states (C)."""
    at_bar, celsius = float(row["precharge_bar_gauge_at_20C"]), float(row["gas_temperature_C"])
    ideal = ideal_precharge_pa(at_bar * 1e5, 20.0, celsius) / 1e5
    assert ideal == pytest.approx(float(row["ideal_gas_bar_gauge"]), abs=0.006)
    real = nitrogen.precharge_pa(at_bar * 1e5, 20.0, celsius) / 1e5
    expected = float(row["real_nitrogen_bar_gauge"])
    assert real == pytest.approx(expected, abs=0.002 * (expected + 1.013))


@pytest.mark.parametrize("celsius", [-40.0, -20.0, 0.0, 20.0, 45.0, 70.0])
@pytest.mark.parametrize("bar", [30.0, 80.0, 150.0, 250.0])
def test_density_against_coolprop(celsius: float, bar: float) -> None:
    """Two equations of state of one gas: within 0.2 % of density up to 250 bar (CoolProp)."""
    theirs = PropsSI("Dmolar", "T", celsius + 273.15, "P", bar * 1e5, "Nitrogen")
    assert nitrogen.density_mol_m3(bar * 1e5, celsius + 273.15) == pytest.approx(theirs, rel=2e-3)


def test_critical_point() -> None:
    """The constants that the equation is reduced by, against `chemicals`: 126.192 K and 11.1839 kmol/m³."""
    assert pytest.approx(chemicals.Tc(NITROGEN), rel=1e-4) == nitrogen.CRITICAL_K
    assert pytest.approx(1 / chemicals.Vc(NITROGEN), rel=2e-3) == nitrogen.CRITICAL_MOL_M3


@pytest.mark.parametrize("kelvin", [233.15, 273.15, 293.15, 333.15])
def test_second_virial_coefficient(kelvin: float) -> None:
    """(Z − 1)/ρ at low density against a correlation of `chemicals`, within 1.5 cm³/mol."""
    found = (nitrogen.compressibility(1.0, kelvin) - 1.0) / 1.0
    theirs = BVirial_Tsonopoulos_extended(
        kelvin, chemicals.Tc(NITROGEN), chemicals.Pc(NITROGEN), chemicals.omega(NITROGEN)
    )
    assert found * 1e6 == pytest.approx(theirs * 1e6, abs=1.5)

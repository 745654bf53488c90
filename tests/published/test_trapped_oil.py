"""
Oil shut in, against published values 19.

R: read in a makers' engineering page on bulk modulus, and in *Fluid Power Engineering* (expansion 0.0007 /K).
"""

import pytest

from commission.engineering.trapped_oil import compressed_m3, pressure_per_kelvin_pa

PSI = 6894.757293168
PER_F = 1.8
"""One degree Fahrenheit is 1/1.8 kelvin: a coefficient for each °F is 1.8 times as large for each kelvin."""


@pytest.mark.parametrize(
    ("bulk_psi", "per_f", "rise_f", "psi"),
    [(3.0e5, 0.00046, 50.0, 6900.0), (2.6e5, 0.00046, 50.0, 5980.0)],
    ids=["19.1 MIL-H-83282 (R)", "19.3 MIL-H-5606 row (table R, product C)"],
)
def test_a_closed_rigid_volume(bulk_psi: float, per_f: float, rise_f: float, psi: float) -> None:
    """Bulk modulus times expansion times the rise."""
    per_kelvin = pressure_per_kelvin_pa(bulk_psi * PSI, per_f * PER_F)
    assert per_kelvin * rise_f / 1.8 / PSI == pytest.approx(psi, rel=1e-9)


def test_oil_to_bleed_off() -> None:
    """19.2: 100 in³ at 6900 psi: 2.3 in³ hold the pressure (R); 19.6: 3000 psi is 1.0 % of volume (R)."""
    assert compressed_m3(100.0, 6900 * PSI, 3.0e5 * PSI) == pytest.approx(2.3, abs=1e-9)
    assert compressed_m3(100.0, 3000 * PSI, 3.0e5 * PSI) == pytest.approx(1.0, abs=1e-9)


def test_bar_for_each_degree() -> None:
    """19.5: 1.6 GPa and 7.0e-4 /K: 11.2 bar/K (expansion R; C); the rule of thumb says about 11 (19.4, R)."""
    assert pressure_per_kelvin_pa(1.6e9, 7.0e-4) / 1e5 == pytest.approx(11.2, rel=1e-9)
    assert pytest.approx(11.17, abs=0.005) == 90 * PSI * 1.8 / 1e5

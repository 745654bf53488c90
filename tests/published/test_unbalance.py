"""
Voltage unbalance after NEMA MG 1, 14.36, and insulation after IEEE 43 (published values 22 and 23), as measured.

Letters: R read in public worked examples, C recomputed, M from memory.
"""

import pytest

from commission.analysis.supply_trace import insulation_at_40, unbalance_figure


@pytest.mark.parametrize(
    ("volts", "per_cent"),
    [
        ((460, 467, 450), 1.9608),  # 22.1: R, C; M for the clause
        ((462, 463, 455), 1.087),  # 22.2: R, C
        ((203, 210, 212), 2.56),  # 22.3: R, C; a printed sheet says 2.5 from rounded numbers
        ((220, 216, 213), 1.695),  # 22.4: R, C; a manual prints 1.8 from a rounded mean
        ((480, 476, 472), 0.8403),  # 22.5: R, C; (max − min)/mean would be 1.68
    ],
)
def test_unbalance_is_the_largest_departure_from_the_mean(volts: tuple[float, ...], per_cent: float) -> None:
    """To the digits given."""
    assert 100 * unbalance_figure(volts).unrounded == pytest.approx(per_cent, abs=6e-3)


@pytest.mark.parametrize(("celsius", "factor"), [(20, 0.25), (30, 0.5), (40, 1.0), (50, 2.0)])
def test_insulation_halves_with_every_ten_kelvin(celsius: float, factor: float) -> None:
    """23.6: KT of thermoplastic windings (IEEE 43, 6.3; M, C)."""
    assert insulation_at_40(100e6, celsius).unrounded == pytest.approx(factor * 100e6, rel=1e-12)

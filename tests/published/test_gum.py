"""
Pieces of an uncertainty budget, against JCGM 100:2008 (GUM) and JCGM 101:2008 (published values 4).

Letters: C recomputed with a general library, M from memory of the document named.
"""

import math

import pytest

from commission.analysis.intervals import half_width_ns, standard_uncertainty


def test_bounds_alone() -> None:
    """4.1: bounds ± a, u = a/√3 = 0.577350 a (JCGM 100, 4.3.7; M, C)."""
    assert standard_uncertainty((1.0,)) == pytest.approx(0.577350, abs=1e-6)


def test_last_digit() -> None:
    """4.2: resolution step δ, u = δ/√12 = 0.288675 δ (JCGM 100, F.2.2.1; M, C)."""
    assert standard_uncertainty((0.5,)) == pytest.approx(0.288675, abs=1e-6)


def test_handbook_expansion_coefficient() -> None:
    """4.3: a = 0.40e-6 /°C gives u² = 53.3e-15 and u = 0.23e-6 /°C (JCGM 100, 4.3.7 example 1; M, C)."""
    u = standard_uncertainty((0.40e-6,))
    assert u**2 == pytest.approx(53.3e-15, abs=0.05e-15)
    assert u == pytest.approx(0.23e-6, abs=0.005e-6)


def test_voltmeter_specification() -> None:
    """4.4: a = 15 µV, u = 8.7 µV; with 12 µV of scatter u_c = 15 µV (JCGM 100, 4.3.7 example 2, 5.1.5; M, C)."""
    a = 14e-6 * 0.928571 + 2e-6 * 1.0
    assert a == pytest.approx(15e-6, abs=0.5e-6)
    assert standard_uncertainty((a,)) == pytest.approx(8.7e-6, abs=0.05e-6)
    assert math.hypot(standard_uncertainty((a,)), 12e-6) == pytest.approx(15e-6, abs=0.5e-6)


def test_triangle() -> None:
    """4.5: triangular ± a is two uniform terms of a/2, u = a/√6 = 0.408248 a (JCGM 100, 4.3.9; M, C)."""
    assert standard_uncertainty((0.5, 0.5)) == pytest.approx(0.408248, abs=1e-6)


@pytest.mark.parametrize("beta", [0.0, 0.25, 0.5, 1.0])
def test_trapezoid(beta: float) -> None:
    """4.6: half-width a, top βa: u² = a²(1 + β²)/6 (JCGM 100, 4.3.9; M, C)."""
    found = standard_uncertainty(((1 + beta) / 2, (1 - beta) / 2))
    assert found**2 == pytest.approx((1 + beta**2) / 6, rel=1e-12)


def test_four_rectangular_terms() -> None:
    """4.8: four terms of u = 1: 95 % ± 3.88, closed form 2√3(2 − (3/5)^¼) = 3.879407 (JCGM 101, 9.2.3; M, C)."""
    scale = 1_000_000_000
    width = round(2 * math.sqrt(3) * scale)
    found = half_width_ns((width,) * 4) / scale
    assert found == pytest.approx(3.88, abs=0.01)
    assert found == pytest.approx(3.879407, abs=1e-6)
    assert found < 3.92  # what the law of propagation says

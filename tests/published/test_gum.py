"""
Pieces of an uncertainty budget, against JCGM 100:2008 (GUM) and JCGM 101:2008 (published values 4).

Letters: C recomputed with a general library, M from memory of the document named.
"""

import math

import pytest

from commission.analysis.accuracy import parse_accuracy
from commission.analysis.budget import Budget, normal, rectangular, resolution, trapezoidal, triangular
from commission.analysis.intervals import half_width_ns, standard_uncertainty
from commission.analysis.quantiles import two_sided_student


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


def test_budget_lines_have_the_published_standard_uncertainties() -> None:
    """4.1, 4.2, 4.5, 4.6 again, by the lines that budgets are made of (M, C)."""
    found = [
        rectangular("bounds", 1.0).standard,
        resolution("step", 1.0).standard,
        triangular("triangle", 1.0).standard,
        trapezoidal("trapezoid", 1.0, 0.5).standard,
    ]
    assert found == pytest.approx([0.577350, 0.288675, 0.408248, math.sqrt(1.25 / 6)], abs=1e-6)


def test_voltmeter_as_its_data_sheet_writes_it() -> None:
    """4.4 again: "14 ppm of reading + 2 ppm of range" at 0.928571 V of 1 V, with 12 µV of scatter (M, C)."""
    meter = parse_accuracy("14 ppm of reading + 2 ppm of range", unit="V", low=0, high=1)
    assert meter.half_width(0.928571) == pytest.approx(15e-6, abs=0.01e-6)
    budget = Budget((*meter.lines("voltmeter", 0.928571), normal("scatter", 12e-6)))
    assert budget.lines[0].standard == pytest.approx(8.7e-6, abs=0.05e-6)
    assert budget.combined == pytest.approx(15e-6, abs=0.5e-6)


def test_end_gauge_expanded_uncertainty() -> None:
    """4.7: ν_eff = 16.7 → 16, t99 = 2.92, u_c = 32 nm: U99 = 93 nm (JCGM 100, H.1; M, t C)."""
    assert two_sided_student(16.7, 0.99) == pytest.approx(2.92, abs=0.005)
    assert two_sided_student(16.7, 0.99) * 32 == pytest.approx(93, abs=0.5)


def test_four_rectangular_lines_of_a_budget() -> None:
    """4.8 again: u = 2.0 and 95 % ± 3.88, where the law of propagation says ± 3.92 (JCGM 101, 9.2.3; M, C)."""
    budget = Budget(tuple(rectangular(name, math.sqrt(3)) for name in "abcd"))
    assert budget.combined == pytest.approx(2.0, rel=1e-12)
    assert budget.expanded() == pytest.approx(2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25), rel=1e-9)
    assert budget.gum_expanded() == pytest.approx(3.92, abs=0.001)


@pytest.mark.parametrize(
    ("degrees", "factor"),
    [
        (1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (10, 2.228), (16, 2.120), (20, 2.086),
        (30, 2.042), (60, 2.000), (100, 1.984),
    ],
)  # fmt: skip
def test_students_factor_for_95_per_cent(degrees: int, factor: float) -> None:
    """4.9: NIST e-Handbook, 1.3.6.7.2 (M, C)."""
    assert two_sided_student(degrees) == pytest.approx(factor, abs=5.1e-4)


@pytest.mark.parametrize(
    ("degrees", "factor"),
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (10, 2.28), (20, 2.13), (50, 2.05)],
)
def test_students_factor_of_the_guides_table(degrees: int, factor: float) -> None:
    """4.10: 95.45 %, JCGM 100, table G.2 (C; M)."""
    assert two_sided_student(degrees, 0.9545) == pytest.approx(factor, abs=5.1e-3)

"""
Charts of the NIST/SEMATECH e-Handbook, 6.3.2 (published values 8).

Letters: R read in public copies of the handbook's numbers, C recomputed, M from memory.
"""

import pytest
from scipy import integrate, stats

from commission.analysis.trend import D2_OF_TWO, D4_OF_TWO, ewma, individuals
from tests.published.rows import rows_of

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
EWMA = rows_of("nist_ewma.csv")


def test_individuals_of_a_flow_rate() -> None:
    """8.1: mean 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041 (6.3.2.2; R, C)."""
    chart, ranges = individuals(FLOW)
    assert [chart.centre, ranges.centre] == pytest.approx([50.81, 1.8778], abs=1e-4)
    assert [chart.low, chart.high] == pytest.approx([45.8159, 55.8041], abs=1e-4)
    assert chart.outside == ()


def test_moving_ranges_of_a_flow_rate() -> None:
    """8.2: upper limit 3.267 · 1.87778 = 6.1347 (C)."""
    assert individuals(FLOW)[1].high == pytest.approx(6.1347, abs=1e-4)


def test_weighted_means_of_twenty_observations() -> None:
    """8.3: λ = 0.3, target 50, s = 2.0539: the values as printed, two decimals (6.3.2.4; R)."""
    chart = ewma([float(row["observation"]) for row in EWMA[1:]], 50.0, 2.0539)
    printed = [float(row["ewma_published_2dp"]) for row in EWMA]
    assert list(chart.values) == pytest.approx(printed, abs=0.0051)
    assert chart.outside == ()


def test_limits_of_the_weighted_mean() -> None:
    """8.3: 52.588432 and 47.411568; the handbook cuts them to 52.5884 and 47.4115 (R, C)."""
    chart = ewma([], 50.0, 2.0539)
    assert [chart.low, chart.high] == pytest.approx([47.411568, 52.588432], abs=1e-5)


def test_factors_of_a_range_of_two() -> None:
    """8.5: d2 = 1.128 and D4 = 3.267 (NIST 6.3.2.1, ASTM E2587; M), from the distribution of |x₁ − x₂| by SciPy."""
    mean = integrate.quad(lambda r: r * stats.norm.pdf(r, scale=2**0.5) * 2, 0, 20)[0]
    square = integrate.quad(lambda r: r * r * stats.norm.pdf(r, scale=2**0.5) * 2, 0, 20)[0]
    assert pytest.approx(mean, abs=5e-4) == D2_OF_TWO
    assert pytest.approx(1 + 3 * (square - mean**2) ** 0.5 / mean, abs=5e-4) == D4_OF_TWO

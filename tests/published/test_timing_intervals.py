"""
Timing an event from samples, against published values 6 (JCGM 101:2008, 6.4 and JCGM 100:2008, 4.3.9).

Letters: C recomputed from the stated formula with a general library, M from memory of the document.
"""

import random

import pytest

from commission.analysis.edges import level_crossing
from commission.analysis.intervals import half_width_ns, standard_uncertainty, two_term_half_width
from commission.sheet.decode import Reading

# half-widths a1, a2 (s); u of the difference; 95 % half-width; all C
VALUES = [
    (0.05, 0.05, 0.0408248, 0.0776393),  # 6.1, 100 ms poll
    (0.10, 0.05, 0.0645497, 0.1183772),  # 6.2
    (0.10, 0.02, 0.0588784, 0.1000000),  # 6.3, checked by 4·10⁶ draws
    (0.10, 0.01, 0.0580230, 0.0958579),  # 6.4
    (0.50, 0.50, 0.4082483, 0.7763932),  # 6.5, 1 s poll
    (0.50, 0.02, 0.2889060, 0.4750000),  # 6.7, second branch
]


@pytest.mark.parametrize(("a1", "a2", "u", "half"), VALUES)
def test_difference_of_two_uniform_times(a1: float, a2: float, u: float, half: float) -> None:
    """Standard uncertainty and 95 % half-width, in closed form and in whole nanoseconds."""
    assert standard_uncertainty((a1, a2)) == pytest.approx(u, abs=1e-6)
    assert two_term_half_width(a1, a2) == pytest.approx(half, abs=1e-6)
    assert half_width_ns((round(2e9 * a1), round(2e9 * a2))) / 1e9 == pytest.approx(half, abs=1e-6)


def test_the_triangle_factor() -> None:
    """6.1: equal half-widths, k = 1.9018 (C)."""
    assert two_term_half_width(1, 1) / standard_uncertainty((1, 1)) == pytest.approx(1.9018, abs=1e-4)


def test_the_branches_meet() -> None:
    """For 95 % at a2 = 0.05·a1, and h is continuous there (C)."""
    below, above = two_term_half_width(1, 0.05 - 1e-9), two_term_half_width(1, 0.05 + 1e-9)
    assert below == pytest.approx(0.95, abs=1e-8)
    assert above == pytest.approx(below, abs=1e-8)


def test_trade_guide_timing_at_100_ms() -> None:
    """Two events at T = 0.1 s: u 0.041 s, 95 % ± 0.078 s; with 0.05 s of scan added to each interval u 0.061 s (C)."""
    assert standard_uncertainty((0.05, 0.05)) == pytest.approx(0.041, abs=5e-4)
    assert two_term_half_width(0.05, 0.05) == pytest.approx(0.078, abs=5e-4)
    assert standard_uncertainty((0.075, 0.075)) == pytest.approx(0.061, abs=5e-4)


def test_a_scan_convolved_is_narrower_than_a_scan_added() -> None:
    """0.1 s polls and 0.05 s scan: the exact sum of four terms lies below the ± 0.116 s of two widened ones (C)."""
    exact = half_width_ns((100_000_000, 50_000_000) * 2) / 1e9
    widened = two_term_half_width(0.075, 0.075)
    assert widened == pytest.approx(0.1165, abs=1e-4)
    random_ = random.Random(1)
    draws = [sum(random_.uniform(-a, a) for a in (0.05, 0.025) * 2) for _ in range(100_000)]
    assert sum(abs(draw) <= exact for draw in draws) / len(draws) == pytest.approx(0.95, abs=0.003)
    assert exact < widened


def test_level_crossing_by_interpolation() -> None:
    """IEEE Std 181 (M): 40 % at 2.0 s and 60 % at 2.1 s cross 50 % at 2.05 s."""
    found = level_crossing((Reading(0.4, 2_000_000_000, 0), Reading(0.6, 2_100_000_000, 0)), 0.5, 0.0, 0)
    assert found is not None
    assert found.at_ns == 2_050_000_000


@pytest.mark.parametrize(("level", "at_s"), [(0.1, 0.8), (0.9, 7.2)])
def test_tenths_of_a_ramp(level: float, at_s: float) -> None:
    """IEEE Std 181 (M): a ramp from 0 to 100 % in 8 s crosses 10 % at 0.8 s and 90 % at 7.2 s (C)."""
    ramp = tuple(Reading(i * 0.05 / 8, i * 50_000_000, 0) for i in range(161))
    found = level_crossing(ramp, level, 0.0, 0)
    assert found is not None
    assert found.at_ns / 1e9 == pytest.approx(at_s, abs=1e-8)

"""Tests of water hammer: the two formulas meet, and a fastest closing keeps its allowance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.surge import LiquidLine, wave_speed_m_s

OIL_LINE = LiquidLine(density_kg_m3=860.0, wave_m_s=1100.0, velocity_m_s=2.0, length_m=10_000.0)


def test_a_sudden_stop() -> None:
    """860 · 1100 · 2 = 18.9 bar (Joukowsky)."""
    assert OIL_LINE.full_surge_pa == pytest.approx(18.92e5, rel=1e-9)
    assert OIL_LINE.surge_pa(OIL_LINE.reflection_s) == pytest.approx(OIL_LINE.surge_pa(1.0), rel=1e-12)


@given(one=st.floats(0.1, 1000), other=st.floats(0.1, 1000))
def test_slower_is_never_harder(one: float, other: float) -> None:
    """Across the reflection time too."""
    fast, slow = sorted((one, other))
    assert OIL_LINE.surge_pa(slow) <= OIL_LINE.surge_pa(fast)


@given(allowed=st.floats(0.5e5, 18e5), share=st.floats(0.1, 1.0))
def test_the_fastest_closing_keeps_the_allowance(allowed: float, share: float) -> None:
    """Its effective part makes just the allowed rise."""
    whole_s = OIL_LINE.fastest_closing_s(allowed, share)
    assert OIL_LINE.surge_pa(whole_s * share) == pytest.approx(allowed, rel=1e-9)


def test_any_closing_will_do_below_the_full_surge() -> None:
    """No limit where even a sudden stop is allowed; no allowance is no question."""
    assert OIL_LINE.fastest_closing_s(20e5) == 0.0
    with pytest.raises(ValueError, match="allowance"):
        OIL_LINE.fastest_closing_s(0.0)


def test_a_wave_is_slower_in_a_softer_pipe() -> None:
    """Water in a rigid pipe about 1483 m/s (√(K/ρ) with 2.2 GPa and 1000 kg/m³), less in steel."""
    rigid = wave_speed_m_s(2.2e9, 1000.0)
    assert rigid == pytest.approx(math.sqrt(2.2e6), rel=1e-12)
    assert wave_speed_m_s(2.2e9, 1000.0, 0.4, 0.01) < rigid

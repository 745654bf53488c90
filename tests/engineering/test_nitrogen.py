"""Tests of real nitrogen: near the ideal law where that holds, its own inverse; the referee is in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.accumulator import absolute_pa, ideal_precharge_pa
from commission.engineering.nitrogen import (
    GAS_CONSTANT,
    compressibility,
    density_mol_m3,
    precharge_pa,
    pressure_abs_pa,
)


@given(temperature=st.floats(200.0, 400.0))
def test_thin_gas_is_ideal(temperature: float) -> None:
    """Towards no density Z goes to 1."""
    assert compressibility(1e-3, temperature) == pytest.approx(1.0, abs=1e-6)
    assert pressure_abs_pa(1.0, temperature) == pytest.approx(GAS_CONSTANT * temperature, rel=1e-4)


@given(pressure=st.floats(1e5, 400e5), temperature=st.floats(220.0, 350.0))
def test_density_and_pressure_are_inverse(pressure: float, temperature: float) -> None:
    """The secants arrive."""
    assert pressure_abs_pa(density_mol_m3(pressure, temperature), temperature) == pytest.approx(pressure, rel=1e-9)


@given(pressure=st.floats(10e5, 300e5), one=st.floats(-50, 70), other=st.floats(-50, 70))
def test_a_warmer_bottle_has_more_pressure(pressure: float, one: float, other: float) -> None:
    """And at its own temperature just its own."""
    low, high = sorted((one, other))
    assert precharge_pa(pressure, 20.0, low) <= precharge_pa(pressure, 20.0, high) * (1 + 1e-9)
    assert precharge_pa(pressure, 20.0, 20.0) == pytest.approx(pressure, rel=1e-9)


def test_where_the_ideal_law_is_wrong_by_more_than_a_gauge() -> None:
    """100 bar at 20 °C: at −20 °C 3.3 bar less than the ideal law, six times what a good test gauge is out by."""
    ideal, real = ideal_precharge_pa(100e5, 20.0, -20.0), precharge_pa(100e5, 20.0, -20.0)
    assert (ideal - real) / 1e5 == pytest.approx(3.3, abs=0.05)
    assert absolute_pa(real) < absolute_pa(ideal)


@pytest.mark.parametrize(("pressure", "temperature"), [(1e5, 100.0), (700e5, 300.0), (0.0, 300.0), (1e5, 500.0)])
def test_outside_its_range_there_is_no_answer(pressure: float, temperature: float) -> None:
    """Rather none than a wrong one."""
    with pytest.raises(ValueError, match="nitrogen from"):
        density_mol_m3(pressure, temperature)
    with pytest.raises(ValueError, match="nitrogen from"):
        precharge_pa(100e5, 20.0, -200.0)

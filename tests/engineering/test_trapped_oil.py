"""Tests of oil shut in: pressure with temperature, volume with pressure, leaks, air."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.accumulator import Charge, absolute_pa
from commission.engineering.trapped_oil import (
    BULK_MODULUS_PA,
    air_bulk_modulus_pa,
    compressed_m3,
    cooling_for_band_k,
    leak_m3_s,
    pressure_per_kelvin_pa,
    restart_interval_s,
)

HIGH, LOW = absolute_pa(110e5), absolute_pa(90e5)


def test_without_gas_a_band_is_two_degrees() -> None:
    """20 bar at 9.8 bar for each kelvin, whatever the volume."""
    assert pressure_per_kelvin_pa() == pytest.approx(9.8e5, rel=1e-9)
    for oil_m3 in (1e-3, 4e-3):
        assert cooling_for_band_k(None, oil_m3, HIGH, LOW) == pytest.approx(20 / 9.8, rel=1e-9)


@given(bottle=st.floats(0.1e-3, 10e-3), oil=st.floats(0.5e-3, 10e-3))
def test_gas_makes_the_band_last_longer(bottle: float, oil: float) -> None:
    """More nitrogen, more degrees of cooling to the next start."""
    charge = Charge(volume_m3=bottle, precharge_abs_pa=absolute_pa(81e5))
    assert cooling_for_band_k(charge, oil, HIGH, LOW) > cooling_for_band_k(None, oil, HIGH, LOW)


def test_a_leak_and_its_restarts() -> None:
    """77 mL a start, one start in four hours: 19 mL an hour; no leak, no restart."""
    leak = leak_m3_s(77e-6, 1 / (4 * 3600))
    assert leak * 3600e6 == pytest.approx(19.25, rel=1e-9)
    assert restart_interval_s(77e-6, leak) == pytest.approx(4 * 3600, rel=1e-12)
    assert restart_interval_s(77e-6, 0.0) == math.inf


@given(one=st.floats(2e5, 300e5), other=st.floats(2e5, 300e5), air=st.floats(0.0, 0.1))
def test_air_softens_oil_most_at_low_pressure(one: float, other: float, air: float) -> None:
    """Stiffness grows with pressure and never passes that of the oil."""
    low, high = sorted((one, other))
    assert air_bulk_modulus_pa(air, low) <= air_bulk_modulus_pa(air, high) <= BULK_MODULUS_PA * (1 + 1e-12)


def test_oil_for_a_rise_of_pressure() -> None:
    """3.93 L and 20 bar: 5.6 mL."""
    assert compressed_m3(3.927e-3, 20e5) * 1e6 == pytest.approx(5.61, abs=0.01)
    with pytest.raises(ValueError, match="above zero"):
        cooling_for_band_k(None, 0.0, HIGH, LOW)

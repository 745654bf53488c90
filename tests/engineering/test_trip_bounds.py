"""Tests of trip bounds: continuous behaviour between the classes; the regulation's numbers are in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.trip_bounds import (
    PSI_PA,
    high_stress_limit,
    highest_high_trip,
    lowest_low_trip,
    protected_limit,
)

PRESSURES = st.floats(1.0 * PSI_PA, 2000 * PSI_PA)


@given(maop=PRESSURES)
def test_protection_always_lies_above_maop(maop: float) -> None:
    """And says where the number comes from."""
    bound = protected_limit(maop)
    assert bound.pressure_pa > maop
    assert "192.201" in bound.source


@given(operating=PRESSURES)
def test_trips_lie_outside_the_operating_range(operating: float) -> None:
    """High above, low below; the offshore rule says that it does not bind onshore."""
    assert highest_high_trip(operating).pressure_pa >= operating + 5 * PSI_PA * (1 - 1e-12)
    assert lowest_low_trip(operating).pressure_pa <= operating - 5 * PSI_PA * (1 - 1e-12)
    assert "not binding onshore" in lowest_low_trip(operating).source


def test_yield_governs_where_it_is_lower() -> None:
    """75 % of yield against MAOP plus 10 %; not given is said."""
    maop = 1000 * PSI_PA
    assert protected_limit(maop, 1050 * PSI_PA).pressure_pa == 1050 * PSI_PA
    assert protected_limit(maop, 1200 * PSI_PA).pressure_pa == pytest.approx(1100 * PSI_PA)
    assert "not given" in protected_limit(maop).words
    with pytest.raises(ValueError, match="MAOP"):
        protected_limit(0.0)
    assert high_stress_limit(maop).pressure_pa == pytest.approx(1040 * PSI_PA)

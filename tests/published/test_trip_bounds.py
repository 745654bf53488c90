"""Trip bounds against published values 13: 49 CFR 192 (R, 2015) and 30 CFR 250.803 (R, 2015; offshore, not binding)."""

import pytest

from commission.engineering.trip_bounds import (
    PSI_PA,
    high_stress_limit,
    highest_high_trip,
    lowest_low_trip,
    protected_limit,
)


@pytest.mark.parametrize(("maop", "limit"), [(1000, 1100), (60, 66), (59.9, 65.9), (12, 18), (11.9, 17.85), (10, 15)])
def test_overpressure_limit(maop: float, limit: float) -> None:
    """13.1 to 13.3: 192.201(a)(2)(i) to (iii), psi gauge."""
    assert protected_limit(maop * PSI_PA).pressure_pa / PSI_PA == pytest.approx(limit, rel=1e-9)


def test_high_stress_line() -> None:
    """13.4: MAOP 800 psi under 192.619(c), above 72 % of yield: 832 (192.739(b))."""
    assert high_stress_limit(800 * PSI_PA).pressure_pa / PSI_PA == pytest.approx(832, rel=1e-12)


@pytest.mark.parametrize(("highest", "relief", "trip"), [(1000, None, 1150), (20, None, 25), (1000, 1200, 1140)])
def test_high_trip(highest: float, relief: float | None, trip: float) -> None:
    """13.5 to 13.7: 15 % or 5 psi above; at least 5 % or 5 psi below a relief valve."""
    found = highest_high_trip(highest * PSI_PA, None if relief is None else relief * PSI_PA)
    assert found.pressure_pa / PSI_PA == pytest.approx(trip, rel=1e-9)


@pytest.mark.parametrize(("lowest", "trip"), [(800, 680), (20, 15)])
def test_low_trip(lowest: float, trip: float) -> None:
    """13.8."""
    assert lowest_low_trip(lowest * PSI_PA).pressure_pa / PSI_PA == pytest.approx(trip, rel=1e-9)

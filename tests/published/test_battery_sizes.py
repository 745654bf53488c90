"""Battery and sun against published values 24: the shape of IEEE 1013's worksheets (M, C), IEEE 485 table 1 (M)."""

import pytest

from commission.engineering.battery import LEAD_ACID_CAPACITY, battery_for_ah, cold_capacity_factor
from tests.published.rows import rows_of


@pytest.mark.parametrize(
    ("ah", "days", "depth", "factor", "battery"), [(10, 5, 0.8, 0.75, 83.33), (10, 5, 0.5, 1.0, 100.0)]
)
def test_battery_size(ah: float, days: float, depth: float, factor: float, battery: float) -> None:
    """24.1, 24.2: Ah·days/(depth·factor) (C; form M)."""
    assert battery_for_ah(ah, days, depth, factor) == pytest.approx(battery, abs=0.005)


def test_cold_battery() -> None:
    """24.4, 24.5: the table's points (M), and 100 Ah at 4.4 °C need 130 (C)."""
    printed = {float(row["electrolyte_degC"]): float(row["capacity_correction_factor"]) for row in _cold_rows()}
    assert dict(LEAD_ACID_CAPACITY) == printed
    assert 100 * cold_capacity_factor(4.4) == pytest.approx(130.0, rel=1e-12)


def _cold_rows() -> list[dict[str, str]]:
    return [row for row in rows_of("ieee_485_temperature.csv") if float(row["electrolyte_degC"]) <= 25.0]

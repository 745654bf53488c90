"""Warming oil against published value 23.8 (C; properties assumed there)."""

import pytest

from commission.engineering.heating import heat_j


def test_forty_litres() -> None:
    """40 L, 0.87 kg/L, 1.88 kJ/(kg·K), +30 K: 0.5452 kWh, 272.6 W over two hours, losses not counted."""
    joules = heat_j(0.040, 870.0, 1880.0, 30.0)
    assert joules / 3.6e6 == pytest.approx(0.5452, abs=5e-5)
    assert joules / 7200 == pytest.approx(272.6, abs=0.05)

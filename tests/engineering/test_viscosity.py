"""Tests of viscosity over temperature: meets its table, falls with temperature, refuses what it does not know."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.viscosity import Oil, OutsideTable, line_through, oil_of

VG32 = oil_of({"40": 32.0, "100": 5.4})
COLD = oil_of({"40": 14.0, "-40": 490.0, "0": 60.0}, thickened=True)


@pytest.mark.parametrize("oil", [VG32, COLD])
def test_every_point_of_the_table_is_met(oil: Oil) -> None:
    """Exactly, from both sides."""
    for celsius, mm2_s in oil.points:
        assert oil.mm2_s(celsius) == mm2_s
        assert oil.celsius(mm2_s) == pytest.approx(celsius, abs=1e-6)


@given(one=st.floats(-40, 40), other=st.floats(-40, 40))
def test_warmer_oil_is_never_thicker(one: float, other: float) -> None:
    """Of a straight oil and of one by table."""
    cold, warm = sorted((one, other))
    assert COLD.mm2_s(warm) <= COLD.mm2_s(cold) * (1 + 1e-12)
    assert VG32.mm2_s(warm) <= VG32.mm2_s(cold) * (1 + 1e-12)


@given(celsius=st.floats(-35, 95))
def test_temperature_and_viscosity_are_inverse(celsius: float) -> None:
    """There and back."""
    assert VG32.celsius(VG32.mm2_s(celsius)) == pytest.approx(celsius, abs=1e-6)


def test_a_thickened_oil_is_never_extrapolated() -> None:
    """Two hot points say nothing about its cold; a straight mineral oil goes on."""
    with pytest.raises(OutsideTable, match="-40 to 40"):
        COLD.mm2_s(60.0)
    with pytest.raises(OutsideTable, match="mm²/s"):
        COLD.celsius(1000.0)
    assert VG32.mm2_s(-20.0) > 2000
    assert VG32.celsius(3.0) > 100


@pytest.mark.parametrize(
    "points", [{"40": 32.0}, {"40": 5.4, "100": 32.0}, {"40": 32.0, "100": 1.5}, {"40": 32.0, "40.0": 31.0}]
)
def test_a_table_that_cannot_be_is_refused(points: dict[str, float]) -> None:
    """One point, oil that thickens as it warms, oil that is nearly water, two values at one temperature."""
    with pytest.raises(ValueError, match="two"):
        oil_of(points)


def test_a_line_knows_no_water() -> None:
    """The double logarithm needs more than 0.3 mm²/s."""
    with pytest.raises(ValueError, match="no oil"):
        line_through((40.0, 32.0), (100.0, 5.4)).celsius(0.2)

"""Tests of areas, forces and volumes of a cylinder; published examples are in tests/published/test_hydraulics.py."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.cylinder import Cylinder, circle_m2, hydraulic_power_w

LENGTHS = st.floats(0.01, 0.5)


@given(bore=LENGTHS, share=st.floats(0.0, 0.95), stroke=LENGTHS)
def test_the_two_sides_differ_by_the_rod(bore: float, share: float, stroke: float) -> None:
    """Volume is kept: what the piston side takes beyond the rod side is the rod."""
    cylinder = Cylinder(bore_m=bore, rod_m=bore * share, stroke_m=stroke)
    assert math.isclose(cylinder.piston_side_m3 - cylinder.rod_side_m3, cylinder.rod_m3, rel_tol=1e-9, abs_tol=1e-12)
    assert cylinder.annulus_m2 <= cylinder.piston_m2


@given(bore=LENGTHS, more=st.floats(1.001, 3.0))
def test_a_wider_bore_has_more_area(bore: float, more: float) -> None:
    """Area grows with the square."""
    assert math.isclose(circle_m2(bore * more), circle_m2(bore) * more**2, rel_tol=1e-12)


@pytest.mark.parametrize(("bore", "rod", "stroke"), [(0.0, 0.0, 0.1), (0.1, 0.1, 0.1), (0.1, 0.0, -1.0)])
def test_what_is_no_cylinder_is_refused(bore: float, rod: float, stroke: float) -> None:
    """Lengths above zero; a rod thinner than the bore."""
    with pytest.raises(ValueError, match="bore and stroke"):
        Cylinder(bore_m=bore, rod_m=rod, stroke_m=stroke)


def test_power_in_the_oil() -> None:
    """600 L/min at 1 bar is 1 kW, exactly."""
    assert hydraulic_power_w(600 / 60_000, 1e5) == pytest.approx(1000.0, rel=1e-12)

"""Integrals along a slide, against closed forms and an adaptive quadrature."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from commission.practice.oil import Space, work_pa
from commission.practice.slide import flow_work_j, integral, segments


@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3), st.lists(st.floats(0.0, 0.3), max_size=4))
def test_segments_lead_from_one_end_to_the_other(begin: float, end: float, kinks: list[float]) -> None:
    """Without a gap, each at most a millimetre, every kink between the two on a border."""
    found = list(segments(begin, end, kinks))
    assert (found[0][0], found[-1][1]) == (begin, end)
    assert all(earlier[1] == later[0] for earlier, later in pairwise(found))
    assert all(abs(b - a) <= 1.0001e-3 for a, b in found)
    borders = {place for pair in found for place in pair}
    assert {kink for kink in kinks if min(begin, end) < kink < max(begin, end)} <= borders


def test_a_force_with_a_kink() -> None:
    """|x - 2 mm| over 0 to 5 mm, by hand: 2²/2 + 3²/2 square millimetres; less than 0 on the way back."""
    area = integral(lambda x: abs(x - 2e-3), 0.0, 5e-3, (2e-3,))
    assert area == pytest.approx(6.5e-6, rel=1e-14)
    assert integral(lambda x: abs(x - 2e-3), 5e-3, 0.0, (2e-3,)) == pytest.approx(-area, rel=1e-14)


def test_flow_work_against_an_adaptive_quadrature() -> None:
    """A pressure that rises along the way: the integral of work over oil, by SciPy with the derivatives by hand."""
    space, area_m2 = Space(volume_m3=1e-3, air_m3=1e-5, gas_m3=5e-4, precharge_pa=50e5), 0.0123

    def pressure_pa(rod_m: float) -> float:
        return 60e5 + 80e5 * rod_m + 3e5 * math.sin(20.0 * rod_m)

    def stored_m3(pressure: float, rod_m: float) -> float:
        return space.stored_m3(pressure, area_m2 * rod_m)

    def rate(rod_m: float) -> float:
        step = 1e-6
        more = stored_m3(pressure_pa(rod_m + step), rod_m + step) - stored_m3(pressure_pa(rod_m - step), rod_m - step)
        return work_pa(pressure_pa(rod_m)) * more / (2 * step)

    known_j, _ = quad(rate, 0.02, 0.12, epsrel=1e-10, limit=200)
    assert flow_work_j(pressure_pa, stored_m3, 0.02, 0.12, ()) == pytest.approx(known_j, rel=1e-8)
    assert flow_work_j(pressure_pa, stored_m3, 0.12, 0.02, ()) == pytest.approx(-known_j, rel=1e-8)

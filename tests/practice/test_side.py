"""One side of the piston: oil, pressure and energy, shut and led to the tank."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from commission.practice.oil import work_pa
from commission.practice.side import Side

AREA_M2 = 5e-3


def side(stored_m3: float = 0.0) -> Side:
    """A side of 50 cm²."""
    made = Side(AREA_M2, 5e-5)
    made.stored_m3 = stored_m3
    return made


@given(st.floats(1e4, 1.3e7), st.floats(0.0, 0.2))
def test_stored_and_pressure_are_each_other_s_inverse(pressure_pa: float, reach_m: float) -> None:
    """Whatever the piston's place."""
    made = side()
    made.stored_m3 = made.stored_at_m3(pressure_pa, reach_m)
    assert made.pressure_pa(reach_m) == pytest.approx(pressure_pa, rel=1e-7)
    assert made.pressure_pa(reach_m, 1e-6) > pressure_pa
    assert made.free_m() > reach_m


def test_led_to_the_tank_it_stands_at_its_line_s_pressure() -> None:
    """Whatever oil is in it."""
    made = side(1e-3)
    made.behind_pa = 3e5
    assert made.pressure_pa(0.05) == made.pressure_pa(0.15, 1e-6) == 3e5
    made.behind_pa = None
    assert made.pressure_pa(0.05) > 1e7


def test_energy_is_the_work_of_filling_it() -> None:
    """Against an adaptive quadrature of pressure over oil, the piston standing."""
    made, reach_m, to_pa = side(), 0.1, 9e6
    made.stored_m3 = made.stored_at_m3(to_pa, reach_m)
    step_pa = 10.0

    def rate(pressure_pa: float) -> float:
        more = made.stored_at_m3(pressure_pa + step_pa, reach_m) - made.stored_at_m3(pressure_pa - step_pa, reach_m)
        return work_pa(pressure_pa) * more / (2 * step_pa)

    known_j, _ = quad(rate, 0.0, to_pa, epsrel=1e-9, limit=400, points=[1e4, 1e5, 1e6])
    assert made.energy_j(reach_m) == pytest.approx(known_j, rel=1e-5)
    assert side().energy_j(reach_m) == 0.0


@pytest.mark.parametrize("to_m", [0.09998, 0.1001, 0.1005])
def test_what_it_gives_in_a_leap_is_pressure_along_the_way(to_m: float) -> None:
    """Against an adaptive quadrature of force, through the air's give and beyond where no pressure is left."""
    made = side()
    made.stored_m3 = made.stored_at_m3(9e6, 0.1)
    places = [0.1 + step * 2e-5 for step in range(26)]
    known_j, _ = quad(lambda reach_m: made.pressure_pa(reach_m) * AREA_M2, 0.1, to_m, limit=400, points=places)
    assert made.given_j(0.1, to_m) == pytest.approx(known_j, rel=1e-6)
    made.behind_pa = 3e5
    assert made.given_j(0.1, to_m) == pytest.approx(3e5 * AREA_M2 * (to_m - 0.1))

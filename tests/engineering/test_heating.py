"""Tests of the heat balance: closed form against stepping in time, limits, monotonic behaviour."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from commission.engineering.heating import HeatBalance, heat_j

TANK = HeatBalance(heater_w=150.0, loss_w_k=2.5, capacity_j_k=31e3)


def test_against_stepping_in_time() -> None:
    """scipy.integrate.solve_ivp on C·dT/dt = P − UA·(T − Ta)."""

    def rate(_t: float, y: list[float]) -> list[float]:
        return [(150.0 - 2.5 * (y[0] + 30.0)) / 31e3]

    seconds = TANK.warm_up_s(-30.0, -20.0, 5.0)
    solved = solve_ivp(rate, (0, seconds), [-20.0], rtol=1e-10, atol=1e-10)
    assert solved.y[0][-1] == pytest.approx(5.0, abs=1e-6)


@given(ambient=st.floats(-40, 20), goal=st.floats(-39, 79))
def test_it_gets_there_or_never_does(ambient: float, goal: float) -> None:
    """Never further than power over loss above ambient."""
    seconds = TANK.warm_up_s(ambient, ambient, goal)
    assert (seconds == math.inf) == (goal >= ambient + TANK.rise_k and goal > ambient)
    assert seconds >= 0


@given(one=st.floats(-40, 0), other=st.floats(-40, 0))
def test_colder_takes_longer(one: float, other: float) -> None:
    """With the same oil to warm."""
    cold, mild = sorted((one, other))
    assert TANK.warm_up_s(mild, 0.0, 5.0) <= TANK.warm_up_s(cold, 0.0, 5.0)


def test_cooling_and_duty() -> None:
    """A time constant takes a difference to 1/e; holding 5 °C at −25 °C takes half the heater."""
    assert TANK.cool_down_s(0.0, math.e, 1.0) == pytest.approx(TANK.time_constant_s, rel=1e-12)
    assert TANK.cool_down_s(0.0, 5.0, 10.0) == 0.0
    assert TANK.cool_down_s(8.0, 10.0, 7.0) == math.inf
    assert TANK.duty(-25.0, 5.0) == pytest.approx(0.5, rel=1e-12)
    assert TANK.warm_up_s(-30.0, 5.0, 0.0) == 0.0


def test_heat_of_a_volume() -> None:
    """A litre of 870 kg/m³ and 1.88 kJ/(kg·K), one kelvin: 1636 J."""
    assert heat_j(1e-3, 870.0, 1880.0, 1.0) == pytest.approx(1635.6, rel=1e-9)
    with pytest.raises(ValueError, match="above zero"):
        HeatBalance(heater_w=0.0, loss_w_k=1.0, capacity_j_k=1.0)

"""Tests of the spring stroke through an orifice: closed forms, an ODE solver as referee, monotonic behaviour."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from commission.engineering.outflow import (
    Way,
    line_resistance_pa_s_m3,
    orifice_for_time_m2,
    outflow_time_s,
    reynolds,
)

WAY = Way(orifice_m2=5.44e-6, density_kg_m3=855.0)
AREA = 122.72e-4


def test_the_orifice_alone() -> None:
    """Q = Cd·a·√(2Δp/ρ), exactly."""
    assert WAY.flow_m3_s(50e5) == pytest.approx(5.44e-6 * math.sqrt(2 * 50e5 / 855), rel=1e-12)


@given(pressure=st.floats(1e3, 2e7), line=st.floats(0, 1e11), back=st.floats(0, 5e5))
def test_orifice_and_line_share_the_pressure(pressure: float, line: float, back: float) -> None:
    """The two drops and the back pressure add up to the pressure in the cylinder."""
    way = Way(orifice_m2=5e-6, density_kg_m3=870.0, line_pa_s_m3=line, back_pa=back)
    flow = way.flow_m3_s(pressure)
    if pressure <= back:
        assert flow == 0.0
    else:
        total = 870.0 / 2 * (flow / 5e-6) ** 2 + line * flow + back
        assert total == pytest.approx(pressure, rel=1e-9)


@given(one=st.floats(0, 2e7), other=st.floats(0, 2e7), line=st.floats(0, 1e11))
def test_more_pressure_is_never_less_flow(one: float, other: float, line: float) -> None:
    """Whatever lies behind."""
    way = Way(orifice_m2=5e-6, density_kg_m3=870.0, line_pa_s_m3=line)
    low, high = sorted((one, other))
    assert way.flow_m3_s(low) <= way.flow_m3_s(high)


def test_constant_pressure_in_closed_form() -> None:
    """Time is A·s/Q where the pressure stays."""
    assert outflow_time_s(WAY, AREA, 0.0, 0.32, lambda _: 40e5) == pytest.approx(AREA * 0.32 / WAY.flow_m3_s(40e5))


def test_falling_pressure_in_closed_form() -> None:
    """With p = p0 + k·x, t is A/(CdA·√(2/ρ)) · 2(√p1 − √p0)/k."""
    p0, p1, stroke = 25e5, 54e5, 0.32
    k = (p1 - p0) / stroke
    exact = AREA / (5.44e-6 * math.sqrt(2 / 855.0)) * 2 * (math.sqrt(p1) - math.sqrt(p0)) / k
    assert outflow_time_s(WAY, AREA, stroke, 0.0, lambda x: p0 + k * x) == pytest.approx(exact, rel=1e-9)


def test_against_an_ode_solver() -> None:
    """The same stroke stepped in time by scipy.integrate.solve_ivp, with a line behind the orifice."""
    way = Way(orifice_m2=5.44e-6, density_kg_m3=870.0, line_pa_s_m3=3e9)

    def pressure(rod: float) -> float:
        return 25e5 + 60e5 * rod + 20e5 * math.sin(6 * rod)

    def home(_t: float, y: list[float]) -> float:
        return y[0]

    home.terminal = True  # type: ignore[attr-defined]  # how the solver is told
    solved = solve_ivp(lambda _t, y: [-way.flow_m3_s(pressure(y[0])) / AREA], (0, 60), [0.32], events=home, rtol=1e-9)
    assert outflow_time_s(way, AREA, 0.32, 0.0, pressure) == pytest.approx(solved.t_events[0][0], rel=1e-6)


def test_a_spring_that_is_spent_does_not_finish() -> None:
    """No pressure left on the way, or less than stands behind."""
    assert outflow_time_s(WAY, AREA, 0.32, 0.0, lambda rod: 100e5 * (rod - 0.1)) == math.inf
    behind = Way(orifice_m2=5e-6, density_kg_m3=870.0, back_pa=30e5)
    assert outflow_time_s(behind, AREA, 0.32, 0.0, lambda rod: 25e5 + 60e5 * rod) == math.inf


def test_one_number_fitted_from_a_stroke() -> None:
    """An area that makes the measured time true; time goes with one over the area."""
    computed = outflow_time_s(WAY, AREA, 0.0, 0.32, lambda _: 40e5)
    fitted = Way(orifice_m2=orifice_for_time_m2(computed, 8.97, WAY.orifice_m2), density_kg_m3=855.0)
    assert outflow_time_s(fitted, AREA, 0.0, 0.32, lambda _: 40e5) == pytest.approx(8.97, rel=1e-12)
    with pytest.raises(ValueError, match="finite"):
        orifice_for_time_m2(math.inf, 8.0, 1e-6)


def test_a_line_in_laminar_flow() -> None:
    """Hagen-Poiseuille: twice the bore is a sixteenth of the resistance; Reynolds' number falls with viscosity."""
    thin = line_resistance_pa_s_m3(490e-6, 870.0, 2.0, 0.008)
    assert line_resistance_pa_s_m3(490e-6, 870.0, 2.0, 0.016) == pytest.approx(thin / 16, rel=1e-12)
    assert reynolds(29.5 / 60000, 0.008, 490e-6) < 2000 < reynolds(29.5 / 60000, 0.008, 14e-6)

"""Tests of the fixed sums: exact where Simpson's rule is, near where it is not, infinite where the function is."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from commission.engineering.quadrature import integral, mean


@given(a=st.floats(-5, 5), b=st.floats(-5, 5), c=st.floats(-5, 5), high=st.floats(0.1, 4))
def test_cubics_are_exact(a: float, b: float, c: float, high: float) -> None:
    """Simpson's rule integrates a cubic without error."""
    found = integral(lambda x: a * x**3 + b * x + c, 0.0, high)
    assert math.isclose(found, a * high**4 / 4 + b * high**2 / 2 + c * high, rel_tol=1e-9, abs_tol=1e-9)


def test_against_an_adaptive_integrator() -> None:
    """scipy.integrate.quad as referee, on a curve like that of a spring stroke."""
    expected, _ = quad(lambda x: 1 / math.sqrt(25 + 90 * x), 0.0, 0.32)
    assert integral(lambda x: 1 / math.sqrt(25 + 90 * x), 0.0, 0.32) == pytest.approx(expected, rel=1e-12)


def test_infinite_means_infinite() -> None:
    """One place where a piston stands still is enough."""
    assert integral(lambda x: math.inf if x > 0.9 else 1.0, 0.0, 1.0) == math.inf


def test_a_mean() -> None:
    """Of a straight line: its middle."""
    assert mean(lambda x: 3 + x, 1.0, 5.0) == pytest.approx(6.0, rel=1e-12)


@pytest.mark.parametrize("steps", [0, -2, 7])
def test_odd_steps_are_refused(steps: int) -> None:
    """Simpson's rule takes its steps in pairs."""
    with pytest.raises(ValueError, match="even"):
        integral(lambda x: x, 0.0, 1.0, steps)

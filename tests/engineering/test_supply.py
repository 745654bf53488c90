"""Tests of motor current, efficiency, unbalance and starts; NEMA's examples are in tests/published/test_wires.py."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.supply import (
    Phases,
    allowed_starts,
    line_factor,
    longest_duty,
    motor_current_a,
    overall_efficiency,
    starts_per_hour,
    unbalance,
)

VOLTS = st.floats(100, 500)


@pytest.mark.parametrize("phases", ["DC", "single-phase", "three-phase"])
def test_current_and_efficiency_are_inverse(phases: Phases) -> None:
    """The efficiency that a running point shows gives that running point back."""
    efficiency = overall_efficiency(105e5, 5.97 / 60_000, 480.0, 2.26, phases)
    assert motor_current_a(105e5, 5.97 / 60_000, 480.0, efficiency, phases) == pytest.approx(2.26, rel=1e-12)


@given(low=st.floats(0, 150e5), high=st.floats(0, 150e5))
def test_more_pressure_takes_more_current(low: float, high: float) -> None:
    """At the same flow and efficiency."""
    low, high = sorted((low, high))
    assert motor_current_a(low, 1e-4, 24.0, 0.6) <= motor_current_a(high, 1e-4, 24.0, 0.6)


@given(volts=st.tuples(VOLTS, VOLTS, VOLTS))
def test_unbalance_does_not_know_the_order(volts: tuple[float, float, float]) -> None:
    """And is nothing only where all three are equal; never as large as the wrong formula's."""
    mean = sum(volts) / 3
    assert unbalance(volts) == pytest.approx(unbalance(tuple(reversed(volts))), rel=1e-9)
    assert unbalance(volts) <= (max(volts) - min(volts)) / mean + 1e-12
    assert unbalance((volts[0],) * 3) == pytest.approx(0.0, abs=1e-12)


def test_starts_that_a_demand_makes() -> None:
    """Oil an hour over oil a start; running all allowed starts may be running all the time."""
    assert starts_per_hour(1.7e-3, 1.02e-3) == pytest.approx(1.667, abs=0.001)
    assert longest_duty(152.0, 6, 3600.0) == pytest.approx(0.2533, abs=1e-4)
    assert longest_duty(3600.0, 2, 3600.0) == 1.0


def test_starts_of_a_motor_by_its_size() -> None:
    """The next larger motor of the table; nothing above it."""
    assert allowed_starts(1.4) == (23.0, 39.0)
    assert allowed_starts(50.0) is None
    assert line_factor("three-phase") == pytest.approx(3**0.5)


def test_what_makes_no_sense_is_refused() -> None:
    """No volts, no efficiency, two phases, no oil in the band."""
    with pytest.raises(ValueError, match="above zero"):
        motor_current_a(1e5, 1e-4, 0.0, 0.6)
    with pytest.raises(ValueError, match="above zero"):
        overall_efficiency(1e5, 1e-4, 24.0, 0.0)
    with pytest.raises(ValueError, match="above zero"):
        unbalance((1.0, 2.0))
    with pytest.raises(ValueError, match="above zero"):
        starts_per_hour(1.0, 0.0)

"""Whether a loop current is a measurement."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.signal import LoopState, loop_state


@given(st.floats(-0.1, 0.1))
def test_r2_only_the_measuring_band_is_a_reading(current_a: float) -> None:
    """Below 3.8 and above 20.5 mA nothing is read out of it."""
    inside = 3.8e-3 - 1e-9 <= current_a <= 20.5e-3 + 1e-9
    assert loop_state(current_a).is_reading <= inside


def test_r2_a_dead_loop_is_no_reading_never_zero() -> None:
    """0 mA is a failure, not 0 %."""
    assert loop_state(0.0) is LoopState.FAILURE_LOW
    assert not loop_state(0.0).is_reading


@pytest.mark.parametrize("counts", [3800, 20500])
def test_a_register_of_microamperes_stands_on_its_edge(counts: int) -> None:
    """Binary scaling does not push a value over the limit it stands on."""
    assert loop_state(counts * 0.001 * 0.001) is LoopState.MEASURING

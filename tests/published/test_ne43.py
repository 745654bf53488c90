"""
4–20 mA signal bands, against NAMUR NE 43 (published values 1.12 to 1.14).

Source: "NAMUR NE 43 for Process Instrumentation Diagnostics" and "Understanding the NAMUR NE43 standard", public
articles. Letter R: read there.
"""

import pytest

from commission.analysis.signal import LoopState, loop_state


@pytest.mark.parametrize("current_ma", [3.8, 4.0, 12.0, 20.0, 20.5])
def test_measurement_information(current_ma: float) -> None:
    """1.12: 3.8 … 20.5 mA measures (R)."""
    assert loop_state(current_ma * 1e-3) is LoopState.MEASURING


@pytest.mark.parametrize(
    ("current_ma", "state"),
    [
        (0.0, LoopState.FAILURE_LOW),
        (3.6, LoopState.FAILURE_LOW),
        (21.0, LoopState.FAILURE_HIGH),
        (22.5, LoopState.FAILURE_HIGH),
    ],
)
def test_failure_information(current_ma: float, state: LoopState) -> None:
    """1.13: 3.6 mA and below, 21.0 mA and above (R)."""
    assert loop_state(current_ma * 1e-3) is state


@pytest.mark.parametrize("current_ma", [3.7, 20.8])
def test_between_the_bands(current_ma: float) -> None:
    """1.14: neither measuring nor failure (R, contested: one article calls these under-range and over-range)."""
    assert loop_state(current_ma * 1e-3) is LoopState.UNDEFINED

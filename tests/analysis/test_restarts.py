"""Tests of motor starts: the rolling window, the leak behind restarts, motor run for a travel."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.restarts import Window, leak, run_per_travel, starts_in_window
from commission.figure import make_figure

MIN = 60.0


def test_ten_starts_in_an_hour() -> None:
    """Starts at 0, 5 … 45 min: none left at 50 min, and one again at 60 min exactly, when the first has left."""
    starts = [5 * MIN * number for number in range(10)]
    assert starts_in_window(starts, 50 * MIN, 60 * MIN, 10) == Window(10, 0, 10 * MIN)
    assert starts_in_window(starts, 60 * MIN, 60 * MIN, 10) == Window(9, 1, 0.0)
    assert starts_in_window(starts, 2 * MIN, 60 * MIN, 10).count == 1


@given(st.lists(st.floats(0, 1e4), max_size=30), st.floats(0, 1e4), st.integers(1, 8))
def test_after_the_wait_a_start_is_allowed(starts: list[float], now: float, allowed: int) -> None:
    """And not before; nothing starts in between."""
    seen = [start for start in starts if start <= now]
    window = starts_in_window(seen, now, 3600.0, allowed)
    assert (window.wait_s > 0) == (window.left == 0)
    later = starts_in_window(seen, now + window.wait_s + 1e-6, 3600.0, allowed)
    assert later.left > 0


def test_a_window_needs_length_and_a_number() -> None:
    """Refused in words."""
    with pytest.raises(ValueError, match="a window above zero"):
        starts_in_window([], 0.0, 0.0, 6)


def test_one_restart_in_four_hours_is_nineteen_millilitres_an_hour() -> None:
    """77 mL a start, once in 4 h (trade guide 4.12, computed); regular restarts leave only the volume's doubt."""
    figure = leak([0.0, 4 * 3600.0, 8 * 3600.0, 12 * 3600.0], 77e-6)
    assert figure.unrounded == pytest.approx(19.25e-6, rel=1e-6)
    assert float(figure.expanded_uncertainty) == pytest.approx(0.95 * 0.2 * 19.25e-6, rel=0.02)
    assert figure.note == "4 restarts, one in 4 h"


def test_irregular_restarts_widen_it() -> None:
    """Evening cooling: restarts that cluster say little of a steady leak."""
    regular = leak([0, 3600.0, 7200.0, 10800.0], 77e-6)
    clustered = leak([0, 600.0, 1200.0, 10800.0], 77e-6)
    assert float(clustered.expanded_uncertainty) > 3 * float(regular.expanded_uncertainty)
    with pytest.raises(ValueError, match="at least three restarts"):
        leak([0.0, 3600.0], 77e-6)
    with pytest.raises(ValueError, match="in order of time"):
        leak([0.0, 3600.0, 1800.0], 77e-6)


def test_motor_run_for_one_full_travel() -> None:
    """148 s for the whole way; for half of it 74 s is the same pump."""
    whole = run_per_travel(make_figure("motor_run", 148.0, 0.1, "s", "test/1"), 1.0)
    half = run_per_travel(make_figure("motor_run", 74.0, 0.1, "s", "test/1"), 0.5)
    assert whole.unrounded == pytest.approx(half.unrounded)
    assert float(half.expanded_uncertainty) == pytest.approx(0.2, rel=0.02)
    with pytest.raises(ValueError, match="no travel"):
        run_per_travel(make_figure("motor_run", 3.0, 0.1, "s", "test/1"), 0.0)

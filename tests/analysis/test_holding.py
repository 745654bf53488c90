"""Tests of the drift of a valve that holds, told apart from temperature."""

import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.holding import Held, hold_drift

HOUR = 3600.0


def held(per_hour: float, per_kelvin: float, *, noise: float = 0.0, hours: int = 24, seed: int = 3) -> list[Held]:
    """A day and night at one reading every half hour; the oil follows the sun by ten kelvin."""
    random_ = random.Random(seed)
    found = []
    for half in range(2 * hours):
        hour = half / 2
        oil_c = 15 + 10 * math.sin(hour / 24 * 2 * math.pi)
        travel = 1.0 + per_hour * hour + per_kelvin * oil_c + (random_.gauss(0, noise) if noise else 0.0)
        found.append(Held(hour * HOUR, travel, oil_c))
    return found


def test_drift_and_temperature_are_told_apart() -> None:
    """0.05 % an hour down, 0.1 % a kelvin up, exactly."""
    drift, warmth = hold_drift(held(-0.0005, 0.001))
    assert drift.unrounded == pytest.approx(-0.0005, rel=1e-9)
    assert warmth.unrounded == pytest.approx(0.001, rel=1e-9)
    assert (drift.unit, warmth.unit) == ("1/h", "1/K")
    assert drift.note == "oil temperature taken off"


def test_the_plane_is_that_of_numpy() -> None:
    """Referee: least squares of another library, coefficients and their standard deviations."""
    samples = held(-0.0005, 0.001, noise=0.0005)
    drift, warmth = hold_drift(samples)
    columns = np.array([[1.0, s.at_s / HOUR, s.oil_c or 0.0] for s in samples])
    travel = np.array([s.travel for s in samples])
    solved, squares, _, _ = np.linalg.lstsq(columns, travel, rcond=None)
    spread = np.sqrt(np.diag(np.linalg.inv(columns.T @ columns)) * squares[0] / (len(samples) - 3))
    assert [drift.unrounded, warmth.unrounded] == pytest.approx(list(solved[1:]), rel=1e-9)
    stated = [float(figure.budget[0].standard) for figure in (drift, warmth)]
    assert stated == pytest.approx(list(spread[1:]), rel=1e-3)


@pytest.mark.parametrize(
    ("oil", "words"),
    [
        (lambda _hour: None, "was not read"),
        (lambda _hour: 15.0, "stood still"),
        (lambda hour: 15.0 + hour, "cannot be told apart"),
    ],
)
def test_where_they_cannot_be_told_apart_the_figure_says_so(oil: object, words: str) -> None:
    """One figure then, with the reason."""
    samples = [Held(hour * HOUR, 1.0 - 0.001 * hour, oil(hour)) for hour in range(12)]  # type: ignore[operator]  # a function
    figures = hold_drift(samples)
    assert len(figures) == 1
    assert words in figures[0].note
    assert figures[0].unrounded == pytest.approx(-0.001)


@given(st.floats(-1e6, 1e6), st.floats(-1, 1))
def test_another_clock_and_another_zero_change_nothing(shift_s: float, offset: float) -> None:
    """Drift is a slope."""
    samples = held(-0.0005, 0.001, noise=0.0005)
    moved = [Held(s.at_s + shift_s, s.travel + offset, s.oil_c) for s in samples]
    for here, there in zip(hold_drift(samples), hold_drift(moved), strict=True):
        assert there.unrounded == pytest.approx(here.unrounded, rel=1e-6, abs=1e-9)


def test_too_little_is_refused() -> None:
    """Four looks, or five at one moment."""
    with pytest.raises(ValueError, match="at least 5 samples"):
        hold_drift(held(0, 0)[:4])
    with pytest.raises(ValueError, match="different times"):
        hold_drift([Held(0.0, 1.0)] * 5)

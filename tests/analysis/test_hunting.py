"""Tests of hunting at a constant input."""

import math
from itertools import pairwise

import pytest

from commission.analysis.hunting import hunting_figures, turns
from commission.figure import Figure
from commission.sheet.decode import Reading
from tests.analysis.tracks import track


def found(travel: tuple[Reading, ...]) -> dict[str, Figure]:
    """Figures by name."""
    return {figure.name: figure for figure in hunting_figures(travel)}


def sine(period_s: float, amplitude: float) -> tuple[Reading, ...]:
    """Ten minutes at one reading a second."""
    return track(
        lambda t: 0.5 + amplitude / 2 * math.sin(2 * math.pi * t / period_s), 600.0, period_s=1.0, noise=0.0002
    )


def test_a_swing_has_amplitude_and_period() -> None:
    """1 % peak to peak each 40 s, told from sticking."""
    figures = found(sine(40.0, 0.01))
    assert figures["hunting_period"].unrounded == pytest.approx(40.0, abs=0.5)
    amplitude = figures["hunting_amplitude"]
    assert abs(amplitude.unrounded - 0.01) <= float(amplitude.expanded_uncertainty) + 0.0005
    assert "swings" in figures["turns_count"].note


def test_a_valve_that_sticks_and_leaps_is_told_apart() -> None:
    """A square wave: it stands still most of the time."""
    square = track(lambda t: 0.5 + 0.005 * (1 if t % 60 < 30 else -1), 600.0, period_s=1.0, noise=0.0001)
    assert "sticking" in found(square)["turns_count"].note


def test_a_valve_that_stands_still_has_no_cycle() -> None:
    """Noise is no turn, and a slow drift has none."""
    still = track(lambda t: 0.5 + 1e-6 * t, 600.0, period_s=1.0, noise=0.0003)
    figures = found(still)
    assert figures["turns_count"].unrounded == 0
    assert figures["turns_count"].note == "no limit cycle"
    assert "hunting_period" not in figures


def test_turns_alternate() -> None:
    """Top and bottom in turn, whatever the noise."""
    found_turns = turns(sine(25.0, 0.008))
    assert len(found_turns) > 20
    assert all(one.top is not other.top for one, other in pairwise(found_turns))


def test_nothing_is_said_of_two_readings() -> None:
    """Refused."""
    with pytest.raises(ValueError, match="at least three"):
        hunting_figures((Reading(0.5, 0, 0), Reading(0.5, 1, 0)))
    assert turns((Reading(0.5, 0, 0),)) == ()

"""Tests of resolution, dead band and hysteresis."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.small_steps import Settled, dead_band, ramp_hysteresis, resolution

NOISE = 0.0002


class Valve:
    """A valve with lost motion: travel follows the input only beyond half a band either way."""

    def __init__(self, band: float) -> None:
        self.half, self.travel = band / 2, 0.5

    def follow(self, command: float) -> Settled:
        """Where it settles."""
        self.travel = min(max(self.travel, command - self.half), command + self.half)
        return Settled(command, self.travel)


def walked(band: float, step: float, turns: tuple[int, ...]) -> list[Settled]:
    """So many steps up, so many down, and so on, from where an upward movement ended."""
    valve, command = Valve(band), 0.5 + band / 2
    found = [valve.follow(command)]
    for place, count in enumerate(turns):
        for _ in range(count):
            command += step * (-1) ** place
            found.append(valve.follow(command))
    return found


@pytest.mark.parametrize("band", [0.005, 0.009, 0.016])
def test_dead_band_is_the_lost_motion(band: float) -> None:
    """Steps of 0.1 % up, down until it moves, and up again."""
    figure = dead_band(walked(band, 0.001, (5, 30, 30)), NOISE)
    assert abs(figure.unrounded - band) <= float(figure.expanded_uncertainty) + 5 * NOISE
    assert figure.unit == "1"


def test_resolution_of_a_valve_that_sticks() -> None:
    """It moves only when the input has gone 0.4 % since the last move: four steps of 0.1 %."""
    travel, last, points = 0.5, 0.5, [Settled(0.5, 0.5)]
    for number in range(1, 25):
        command = 0.5 + 0.001 * number
        if command - last >= 0.004 - 1e-9:
            travel = last = command
        points.append(Settled(command, travel))
    figure = resolution(points, NOISE)
    assert abs(figure.unrounded - 0.004) <= float(figure.expanded_uncertainty) + 0.0005


@given(st.floats(0, 0.05), st.integers(5, 40))
def test_hysteresis_of_a_loop_is_its_width_and_never_negative(band: float, count: int) -> None:
    """Up and down over the same inputs; turned round it is the same."""
    valve = Valve(band)
    up = [valve.follow(0.2 + 0.6 * place / count) for place in range(count + 1)]
    down = [valve.follow(0.8 - 0.6 * place / count) for place in range(count + 1)]
    figure = ramp_hysteresis(up, down, NOISE)
    assert figure.unrounded >= 0
    assert figure.unrounded <= band + 1e-9
    assert ramp_hysteresis(down, up, NOISE).unrounded == pytest.approx(figure.unrounded, abs=1e-12)


def test_hysteresis_of_a_known_loop() -> None:
    """1.6 % of lost motion is 1.6 % between the ramps."""
    valve = Valve(0.016)
    up = [valve.follow(0.5 + 0.01 * place) for place in range(31)]
    down = [valve.follow(0.8 - 0.01 * place) for place in range(31)]
    assert ramp_hysteresis(up, down, NOISE).unrounded == pytest.approx(0.016, abs=5 * NOISE)
    assert ramp_hysteresis(up, down, 0.0).unrounded == pytest.approx(0.016, abs=1e-9)


def test_what_never_moved_is_refused() -> None:
    """Larger steps are asked for."""
    still = [Settled(0.5 + 0.001 * n, 0.5) for n in range(5)]
    with pytest.raises(ValueError, match="larger ones are needed"):
        resolution(still, NOISE)
    with pytest.raises(ValueError, match="no reversal"):
        dead_band(still, NOISE)
    with pytest.raises(ValueError, match="a ramp up and a ramp down"):
        ramp_hysteresis([], still, NOISE)
    with pytest.raises(ValueError, match="no input in common"):
        ramp_hysteresis([Settled(0.1, 0.1)], [Settled(0.9, 0.9)], NOISE)

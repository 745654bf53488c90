"""What set points come to: responses numbered step by step, resolution and dead band, and what is not answered."""

import random
from collections.abc import Sequence

import msgspec
import pytest

from commission.analysis.set_points import (
    GivenSetPoint,
    NothingGiven,
    SetPointEnd,
    SetPointsObserved,
    set_point_figures,
)
from commission.sheet.decode import Reading, Readings
from tests.procedures.test_fail_safe_plan import FCV

PERIOD_S = 0.05


def observed(
    points: Sequence[tuple[float, float]], *, dead_s: float = 0.3, rate: float = 0.125, play: float = 0.0, seed: int = 1
) -> SetPointsObserved:
    """A valve that follows (seconds, share) after its dead time at its rate, with lost motion, until the last + 8 s."""
    dice = random.Random(seed)
    items: list[Readings] = []
    travel = actuator = points[0][1]
    at_s = points[0][0] - 2.0
    while at_s < points[-1][0] + 8.0:
        wanted = next((share for since_s, share in reversed(points) if at_s >= since_s + dead_s), points[0][1])
        actuator += max(-rate * PERIOD_S, min(rate * PERIOD_S, wanted - actuator))
        travel = min(max(travel, actuator - play / 2), actuator + play / 2)
        at_ns = round(at_s * 1e9)
        items.append(Readings(len(items), at_ns, {"travel": Reading(travel + dice.gauss(0, 2e-4), at_ns, 2_000_000)}))
        at_s += PERIOD_S
    given = tuple(GivenSetPoint(share, round(at_s * 1e9), 2_000_000) for at_s, share in points)
    return SetPointsObserved(test="M4 1", given=given, seen=tuple(items), ended=SetPointEnd.DONE)


def test_each_step_has_its_own_response() -> None:
    """Dead time and T86 of a rate-limited valve: 0.3 s, and 0.865 of 10 % at 12.5 %/s after that."""
    figures = {f.name: f for f in set_point_figures(observed([(10, 0.5), (20, 0.6), (30, 0.5)]), FCV)}
    for number in (1, 2):
        dead, t86 = figures[f"step_dead_time_step_{number}"], figures[f"t86_step_{number}"]
        assert float(dead.value) == pytest.approx(0.3, abs=0.12)
        assert float(t86.value) == pytest.approx(0.3 + 0.865 * 0.1 / 0.125, abs=0.1)
    assert "step 1, 50 to 60 %" in figures["t86_step_1"].note
    assert figures["steps_unanswered_count"].value == "0"


def test_lost_motion_shows_as_a_dead_band_and_as_steps_that_nothing_answers() -> None:
    """1.6 % of play: fifths of a per cent back are swallowed until it is taken up."""
    up = [(10 + 6 * n, 0.5 + 0.002 * n) for n in range(12)]
    down = [(82 + 6 * n, up[-1][1] - 0.002 * (n + 1)) for n in range(12)]
    figures = {f.name: f for f in set_point_figures(observed(up + down, play=0.016), FCV)}
    band = figures["dead_band"]
    assert abs(float(band.value) - 0.016) <= float(band.expanded_uncertainty)
    assert float(figures["steps_unanswered_count"].value) > 5


@pytest.mark.parametrize("ended", [SetPointEnd.NOT_READY, SetPointEnd.NOT_TAKEN])
def test_what_was_not_taken_is_no_test(ended: SetPointEnd) -> None:
    """With the reason; so is one set point alone."""
    nothing = SetPointsObserved(test="M4 1", given=(), seen=(), ended=ended, why="selector in LOCAL")
    with pytest.raises(NothingGiven, match="selector in LOCAL"):
        set_point_figures(nothing, FCV)
    with pytest.raises(NothingGiven):
        set_point_figures(observed([(10, 0.5)]), FCV)


def test_a_step_that_was_hardly_read_is_no_test() -> None:
    """A line too slow for it says nothing about the valve: not that the step was left unanswered."""
    seen = observed([(10, 0.5), (20, 0.6), (30, 0.5)])
    slow = msgspec.structs.replace(seen, seen=seen.seen[::30])
    with pytest.raises(NothingGiven, match="too few to see it; read faster, or wait longer"):
        set_point_figures(slow, FCV)

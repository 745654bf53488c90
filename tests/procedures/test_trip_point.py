"""O3 and O4 played, second part: the staircase, three times."""

import itertools

import pytest

from commission.analysis.trip_point import TripPointSeen, point_figures
from commission.procedures.trip_point import trip_point
from tests.procedures.monitored import GAUGE, Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101


def pointed(unit: Monitored, side: str = "high") -> TripPointSeen:
    """Play it."""
    seen, begun = play(trip_point(xv_1101(), {"trip": side, "gauge": GAUGE, "test": f"{side} 2"}), unit)
    assert isinstance(seen, TripPointSeen)
    assert begun.commands == ()
    return seen


@pytest.mark.parametrize(
    ("side", "point_bar", "off_bar"),
    [("high", 70.0, 0.0), ("high", 70.35, 0.0), ("high", 69.6, 0.4), ("low", 50.0, 0.0), ("low", 49.7, 0.3)],
)
def test_the_true_trip_point_comes_out(side: str, point_bar: float, off_bar: float) -> None:
    """By the gauge, whatever the monitor's own transmitter is off; three approaches, none of them no test."""
    unit = Monitored(high_bar=point_bar, low_bar=point_bar, off_bar=off_bar)
    unit.points = {"high": point_bar if side == "high" else 99.0, "low": point_bar if side == "low" else 1.0}
    seen = pointed(unit, side)
    assert len(seen.approaches) == 3
    assert seen.no_tests == ()
    judged = point_figures(seen, xv_1101())[0]
    assert abs(judged.unrounded - (point_bar - off_bar) * 1e5) <= 1.2 * float(judged.expanded_uncertainty)


def test_each_step_is_small_and_held_twice_the_delay() -> None:
    """What is asked: at most a fifth of the tolerance from one level to the next, six seconds each."""
    unit = Monitored()
    targets: list[tuple[float, float]] = []

    def hand(ask: object) -> None:
        target = getattr(ask, "target", 0.0)
        targets.append((unit.at_s, target))
        unit.go(target)

    unit.hands["to"] = hand
    pointed(unit)
    stairs = [(at, bar) for at, bar in targets if bar > 65]
    steps = [(b[1] - a[1], b[0] - a[0]) for a, b in itertools.pairwise(stairs) if b[1] > a[1]]
    assert steps
    assert all(0 < change <= 0.2001 for change, _ in steps)
    assert all(held >= 6.0 for _, held in steps)


def test_a_hand_that_takes_too_large_a_step_makes_no_test_and_goes_again() -> None:
    """Said aloud, kept, and made again from farther off."""
    unit = Monitored(high_bar=69.5)
    clumsy = iter([1.2])
    unit.hands["to"] = lambda ask: unit.go((ask.target or 0.0) + (next(clumsy, 0.0) if (ask.target or 0) > 65 else 0.0))
    seen = pointed(unit)
    assert len(seen.no_tests) == 1
    assert len(seen.approaches) == 3
    assert any(note.startswith("NO TEST") for note in unit.notes)


def test_a_slow_ramp_counts_too() -> None:
    """A tenth of the tolerance in a delay."""
    unit = Monitored(period_s=0.3)
    unit.hands["to"] = lambda ask: unit.ramp(ask.target or 0.0, 1 / 31.0 if (ask.target or 0) > 69.0 else 2.0)
    seen = pointed(unit)
    assert len(seen.approaches) == 3
    judged = point_figures(seen, xv_1101())[0]
    assert abs(judged.unrounded - 70e5) <= float(judged.expanded_uncertainty)


def test_nothing_up_to_the_end_of_the_tolerance_is_told_as_far_as_it_went() -> None:
    """71.1 bar and more."""
    seen = pointed(Monitored(high_bar=75.0))
    assert seen.approaches == ()
    assert seen.reached_pa is not None
    assert 71.1e5 <= seen.reached_pa <= 71.5e5
    assert "nothing tripped" in seen.why


def test_a_trip_far_inside_is_found_from_farther_off() -> None:
    """68.6 bar: the first approach jumps past it and is no test."""
    unit = Monitored(high_bar=68.6)
    seen = pointed(unit)
    assert seen.no_tests
    judged = point_figures(seen, xv_1101())[0]
    assert judged.unrounded == pytest.approx(68.6e5, abs=0.2e5)


def test_a_gauge_that_is_none_is_refused_before_anything_begins() -> None:
    """With an example."""
    with pytest.raises(ValueError, match="as: G-12"):
        next(trip_point(xv_1101(), {"trip": "high", "gauge": "the one over there"}))


def test_who_cannot_go_on_keeps_what_was_measured() -> None:
    """One approach, then the hose bursts."""
    unit = Monitored()
    usual = unit.hands["to"]

    def hand(ask: object) -> None:
        if sum(text.startswith("Hold it there") for text in unit.asked):
            unit.said["to"] = ["cannot, the hose burst"]
        usual(ask)  # type: ignore[arg-type]  # the question

    unit.hands["to"] = hand
    seen = pointed(unit)
    assert len(seen.approaches) == 1
    assert "hose burst" in seen.why

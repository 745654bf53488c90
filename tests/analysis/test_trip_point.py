"""A trip point by staircase: what lies in its uncertainty, and what is no test (safety rule R24)."""

import math

import pytest

from commission.analysis.decision import decide
from commission.analysis.gauge import gauge_of
from commission.analysis.trip import NoTrip, Side, point_limits, trip_set
from commission.analysis.trip_point import POINT, Approach, TripPointSeen, levels, point_figures, why_no_test
from commission.sheet.decode import Readings
from tests.analysis.monitors import stretch
from tests.procedures.monitored import GAUGE
from tests.sheet.xv import xv_1101

SHEET = xv_1101()
HIGH = trip_set(SHEET, Side.HIGH)


def stairs(
    trip_bar: float, *, step_bar: float = 0.18, held_s: float = 6.5, noise_bar: float = 0.0
) -> tuple[Readings, ...]:
    """The last six seconds and the trip of a staircase from 69 bar up, three seconds after the step past it."""
    number = max(0, math.ceil((trip_bar - 69.0) / step_bar))
    trip_s = number * held_s + 3.0

    def pressure(at_s: float) -> float:
        return 69.0 + step_bar * min(number, math.floor(at_s / held_s))

    seen = stretch(pressure, trip_s + 0.15, trip_s=trip_s, first_s=trip_s - 20.0)
    kept = [item for item in seen if item.at_ns >= (trip_s - 6.05) * 1e9]
    return tuple(kept)


def seen(*trips_bar: float, off_bar: float = 0.0) -> TripPointSeen:
    """Approaches whose gauge shows `off_bar` less than the monitor."""
    approaches = []
    for trip_bar in trips_bar:
        part = stairs(trip_bar)
        reading = part[-1]["pipeline_pressure"].value
        approaches.append(Approach(seen=part, gauge_bar=round(reading / 1e5 - off_bar, 1), reading_pa=reading))
    return TripPointSeen(test="O3 2", side=Side.HIGH, gauge=gauge_of(GAUGE), approaches=tuple(approaches))


def test_the_trip_point_lies_in_the_last_step() -> None:
    """Half the step, the gauge's data sheet and its last digit are in the budget."""
    judged, first, *_ = point_figures(seen(69.95), SHEET)
    assert judged.name == POINT
    assert abs(judged.unrounded - 69.95e5) < 0.16e5
    assert 0.13e5 < float(judged.expanded_uncertainty) < 0.17e5
    assert {line.name for line in first.budget} >= {"step width", "gauge G-12, 0.1 bar", "gauge G-12, last digit"}
    assert decide(judged, point_limits(HIGH)).verdict == "pass"


def test_it_is_a_true_pressure_and_not_the_monitors_own() -> None:
    """A monitor that reads 0.8 bar too much trips 0.8 bar too early."""
    judged, *_ = point_figures(seen(69.5, off_bar=0.8), SHEET)
    assert abs(judged.unrounded - 68.7e5) < 0.16e5
    assert decide(judged, point_limits(HIGH)).verdict == "fail"


def test_the_farthest_of_three_is_judged_and_their_spread_told() -> None:
    """The gauge's own error is in all of them, so it is not in the spread's uncertainty."""
    judged, *rest = point_figures(seen(70.0, 70.1, 70.4), SHEET)
    assert abs(judged.unrounded - 70.4e5) < 0.2e5
    assert [figure.name for figure in rest] == ["trip_point_1", "trip_point_2", "trip_point_3", "trip_spread"]
    assert rest[-1].unrounded == pytest.approx(0.4e5, abs=0.2e5)
    assert "farthest of 3" in judged.note


@pytest.mark.parametrize(
    ("step_bar", "held_s", "fault"), [(0.18, 6.5, ""), (0.5, 6.5, "at most 0.2 bar"), (0.18, 2.0, "at most 0.2 bar")]
)
def test_a_step_too_large_or_too_short_is_no_test(step_bar: float, held_s: float, fault: str) -> None:
    """R24: a fifth of the tolerance, held twice the delay."""
    found = why_no_test(stairs(70.0, step_bar=step_bar, held_s=held_s), HIGH)
    assert (fault in found) if fault else not found


@pytest.mark.parametrize(("bar_s", "counts"), [(1.0 / 30.0, True), (0.1, False)])
def test_a_ramp_of_a_tenth_of_the_tolerance_in_a_delay_counts(bar_s: float, counts: bool) -> None:  # noqa: FBT001
    """1 bar ÷ (10 × 3 s); the trip point is where the pressure stood a delay before the trip."""
    trip_s = 10.0 / 10.0 * 13.0
    part = stretch(lambda t: 70.0 + bar_s * (t - 10.0), trip_s + 0.1, trip_s=trip_s, first_s=trip_s - 6.1)
    assert (why_no_test(part, HIGH) == "") is counts
    known = levels(part)
    assert known is not None
    assert abs(known.middle_pa - 70.0e5) < 0.02e5


def test_too_little_seen_is_no_test() -> None:
    """Three seconds of six, or hardly a sample."""
    assert "only" in why_no_test(stairs(70.0)[30:], HIGH)
    assert "few" in why_no_test(stairs(70.0)[:3], HIGH)


def test_nothing_tripped_up_to_the_end_of_the_tolerance_fails() -> None:
    """As far as it went: at least that."""
    gone = TripPointSeen(test="", side=Side.HIGH, gauge=gauge_of(GAUGE), reached_pa=71.3e5, why="no trip")
    (figure,) = point_figures(gone, SHEET)
    assert figure.lower_bound_only
    assert decide(figure, point_limits(HIGH)).verdict == "fail"
    low = TripPointSeen(test="", side=Side.LOW, gauge=gauge_of(GAUGE), reached_pa=48.7e5)
    (under,) = point_figures(low, SHEET)
    assert decide(under, point_limits(trip_set(SHEET, Side.LOW))).verdict == "fail"


def test_only_no_tests_make_no_figure() -> None:
    """With what was wrong with them."""
    with pytest.raises(NoTrip, match="too fast; given up"):
        point_figures(
            TripPointSeen(test="", side=Side.HIGH, gauge=gauge_of(GAUGE), no_tests=("too fast",), why="given up"), SHEET
        )

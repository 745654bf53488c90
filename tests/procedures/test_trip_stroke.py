"""A real trip of an open valve, played: timed from the trip's own bit."""

import pytest

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.timing import NoMotion, stroke_figures
from commission.procedures.trip_stroke import BY, trip_stroke
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

ARGUMENTS = {"trip": "high", "direction": "closed", "test": "O3-valve closed 2"}


def opened() -> Monitored:
    """An open valve that a trip closes in 8 s."""
    unit = Monitored()
    unit.travel, unit.trips_valve = 1.0, True
    unit.bits.update(open_limit=1.0, closed_limit=0.0)
    unit.said = {"ready": ["wanted; Mara Mockford"]}
    return unit


def stroke(unit: Monitored) -> StrokeObserved:
    """Play it."""
    seen, begun = play(trip_stroke(xv_1101(), ARGUMENTS), unit)
    assert isinstance(seen, StrokeObserved)
    assert begun.commands == ()
    return seen


def test_it_is_timed_from_the_trip_to_the_limit() -> None:
    """By the sheet's own limits of a closing stroke; who commanded it is said."""
    seen = stroke(opened())
    assert (seen.ended, seen.commanded_by) == (StrokeEnd.HOME, BY)
    assert "trip's own bit" in seen.timed_by
    figure = stroke_figures(seen, xv_1101())[0]
    assert figure.name == "response_time"
    assert not figure.lower_bound_only
    assert figure.unrounded == pytest.approx(7.9, abs=0.15)


def test_a_trip_that_leaves_the_valve_where_it_is_runs_out_of_time() -> None:
    """At least the time-out: it fails."""
    unit = opened()
    unit.trips_valve = False
    seen = stroke(unit)
    assert seen.ended is StrokeEnd.TIMED_OUT
    assert stroke_figures(seen, xv_1101())[0].lower_bound_only


@pytest.mark.parametrize("said", ["no", "cannot"])
def test_nobody_wants_it_nothing_is_tripped(said: str) -> None:
    """No test."""
    unit = opened()
    unit.said = {"ready": [said]}
    seen = stroke(unit)
    assert seen.ended is StrokeEnd.NO_MOTION
    assert not any(unit.latched.values())
    with pytest.raises(NoMotion):
        stroke_figures(seen, xv_1101())


def test_a_closed_valve_is_not_ready() -> None:
    """And not asked about."""
    assert stroke(Monitored()).ended is StrokeEnd.NOT_READY


def test_a_monitor_that_does_not_trip_is_no_motion() -> None:
    """With the words."""
    unit = opened()
    unit.points["high"] = 99.0
    assert "did not trip" in stroke(unit).why


def test_only_to_where_a_trip_drives_it() -> None:
    """The sheet's fail position."""
    with pytest.raises(ValueError, match="does not drive"):
        next(trip_stroke(xv_1101(), {**ARGUMENTS, "direction": "open"}))

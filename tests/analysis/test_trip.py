"""A trip as the sheet has it, and its two moments."""

import msgspec
import pytest

from commission.analysis.trip import Side, crossing, delay_limits, point_limits, track_of, trip_set, tripped_at
from tests.analysis.monitors import stretch
from tests.sheet.xv import xv_1101

HIGH, LOW = (trip_set(xv_1101(), side) for side in (Side.HIGH, Side.LOW))


def test_a_trip_is_what_the_sheet_says_with_the_usual_tolerances() -> None:
    """±1 % of 100 bar; ±10 % of the delay or half a second (common practice, no source)."""
    assert (HIGH.point_pa, HIGH.delay_s, HIGH.tolerance_pa, HIGH.delay_tolerance_s) == (70e5, 3.0, 1e5, 0.5)
    assert (LOW.point_pa, LOW.delay_s, LOW.tolerance_pa, LOW.delay_tolerance_s) == (50e5, 5.0, 1e5, 0.5)
    assert HIGH.step_pa == pytest.approx(0.2e5)
    assert (HIGH.alarm, LOW.alarm) == ("alarm_high_trip", "alarm_low_trip")
    assert str(delay_limits(HIGH)) == "2.5 to 3.5"
    assert str(point_limits(LOW)) == "4900000 to 5100000"


def test_a_long_delay_has_a_share_of_itself_for_tolerance() -> None:
    """10 % of 20 s is more than half a second."""
    sheet = xv_1101()
    assert sheet.monitor is not None
    slow = msgspec.structs.replace(sheet, monitor=msgspec.structs.replace(sheet.monitor, high_delay_s=20.0))
    assert trip_set(slow, Side.HIGH).delay_tolerance_s == pytest.approx(2.0)


def test_a_unit_without_a_monitor_is_refused() -> None:
    """With the reason."""
    with pytest.raises(ValueError, match="no pressure monitor"):
        trip_set(msgspec.structs.replace(xv_1101(), monitor=None), Side.HIGH)


@pytest.mark.parametrize("trip", [HIGH, LOW], ids=["high", "low"])
def test_past_is_counted_the_way_the_trip_looks(trip: object) -> None:
    """Above the high one, below the low one; `at` is its inverse."""
    assert isinstance(trip, type(HIGH))
    beyond = trip.point_pa + trip.sign * 2e5
    assert trip.past(beyond) == pytest.approx(2e5)
    assert trip.at(2e5) == pytest.approx(beyond)


def test_a_jump_was_crossed_between_the_two_samples_around_it() -> None:
    """The interval is those two, the scan and their own half-widths."""
    track = track_of(stretch(lambda t: 60.0 if t < 2.0 else 73.0, 5.0), "pipeline_pressure")
    crossed = crossing(track, HIGH)
    assert crossed is not None
    assert crossed.earliest_ns <= 2.0e9 <= crossed.latest_ns
    assert crossed.widths_ns[0] == pytest.approx(0.1e9)


def test_the_slope_is_in_the_crossings_width() -> None:
    """A bar a second, a tolerance of a bar each way: two seconds, and not a sample's width."""
    track = track_of(stretch(lambda t: 60.0 + t, 20.0), "pipeline_pressure")
    crossed = crossing(track, HIGH)
    assert crossed is not None
    assert crossed.widths_ns[0] == pytest.approx(2e9, abs=0.25e9)
    assert abs(crossed.at_ns - 10e9) < 0.2e9


@pytest.mark.parametrize("top", [69.0, 70.5])
def test_what_did_not_go_well_past_crossed_nothing(top: float) -> None:
    """Within the tolerance nobody knows whether it was past."""
    track = track_of(stretch(lambda t: 60.0 if t < 2.0 else top, 5.0), "pipeline_pressure")
    assert crossing(track, HIGH) is None


def test_the_way_back_is_found_too() -> None:
    """A second later."""
    track = track_of(stretch(lambda t: 73.0 if 2.0 <= t < 3.0 else 60.0, 5.0), "pipeline_pressure")
    back = crossing(track, HIGH, back=True)
    assert back is not None
    assert back.earliest_ns <= 3.0e9 <= back.latest_ns


def test_the_trips_bit_is_a_moment_between_two_samples() -> None:
    """None where it never came, or was on from the beginning."""
    seen = stretch(lambda _t: 73.0, 5.0, trip_s=2.0)
    moment = tripped_at(seen, HIGH)
    assert moment is not None
    assert moment.earliest_ns <= 2.0e9 <= moment.latest_ns
    assert tripped_at(stretch(lambda _t: 60.0, 5.0), HIGH) is None
    assert tripped_at(stretch(lambda _t: 73.0, 5.0, trip_s=-1.0), HIGH) is None

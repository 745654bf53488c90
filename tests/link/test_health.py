"""Counts, latencies, ages and whether the unit lives."""

import math

from hypothesis import given
from hypothesis import strategies as st

from commission.link.health import Health, latency_of

S = 1_000_000_000


def test_r18_no_change_of_the_alive_point_in_five_seconds_strikes_out() -> None:
    """A unit whose alive point stands still is struck out after 5 s of unit time, and back with the first change."""
    health = Health(0)
    for second in range(6):
        health.sampled(second * S)
        health.alive_read((240, 17), second * S)
        assert health.struck_out(second * S) is None
    health.sampled(6 * S)
    health.alive_read((240, 17), 6 * S)
    assert "has not changed for 6 s" in (health.struck_out(6 * S) or "")
    health.alive_read((240, 18), 6 * S)
    assert health.struck_out(6 * S) is None


def test_r18_nothing_read_strikes_out() -> None:
    """Before the first sample, and 5 s after the last, nothing may be believed."""
    health = Health(0)
    assert health.struck_out(0) == "nothing has been read yet"
    assert health.age_s(S) is None
    health.sampled(S)
    assert health.age_s(3 * S) == 2.0
    assert health.struck_out(6 * S) is None
    assert health.struck_out(8 * S) == "nothing has been read for 7 s"


def test_exchanges_are_counted_by_kind() -> None:
    """Answers and each kind of fault have a count of their own."""
    health = Health(0)
    assert Health(0).latency is None
    health.answered(0.01)
    health.failed("NoAnswer")
    health.failed("NoAnswer")
    assert health.counts == {"answered": 1, "NoAnswer": 2}
    assert health.latency is not None
    assert health.latency.count == 1


def test_exchanges_are_counted_anew_where_the_unit_had_reason_to_be_silent() -> None:
    """What was before stays in the whole count and is not in the new one; each new count leaves all before it out."""
    health = Health(0)
    health.failed("NoAnswer")
    assert health.counts_anew == {"NoAnswer": 1}
    health.count_anew()
    assert health.counts_anew == {}
    health.failed("NoAnswer")
    health.answered(0.01)
    assert (health.counts_anew, health.counts) == ({"NoAnswer": 1, "answered": 1}, {"NoAnswer": 2, "answered": 1})
    health.count_anew()
    assert health.counts_anew["NoAnswer"] == 0


@given(st.lists(st.floats(0.001, 1), min_size=1, max_size=400))
def test_percentiles_are_the_nearest_rank(round_trips_s: list[float]) -> None:
    """At least half of the values do not exceed the median, at least 99 % not the other, and none smaller does it."""
    latency = latency_of(round_trips_s)
    assert latency is not None
    for value, share in ((latency.p50_s, 0.50), (latency.p99_s, 0.99)):
        need = math.ceil(share * len(round_trips_s) - 1e-9)
        assert sum(trip <= value for trip in round_trips_s) >= need
        assert sum(trip < value for trip in round_trips_s) < need


def test_no_round_trip_has_no_percentile() -> None:
    """Nothing measured is None, not zero."""
    assert latency_of([]) is None

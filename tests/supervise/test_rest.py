"""Is the valve at rest, by readings alone? Built readings, because each case is a curve of its own."""

import math

from hypothesis import given
from hypothesis import strategies as st

from commission.sheet.decode import Reading, Readings
from commission.supervise.rest import STILL, RestWatch


def readings(at_s: float, **values: float) -> Readings:
    """Readings of one moment."""
    at_ns = round(at_s * 1e9)
    return Readings(1, at_ns, {role: Reading(value, at_ns, 1) for role, value in values.items()})


def watched(*moments: tuple[float, float], motor: float | None = 0.0) -> RestWatch:
    """After these (time, travel)."""
    watch = RestWatch()
    for at_s, travel in moments:
        watch.see(readings(at_s, travel=travel, **({} if motor is None else {"motor_running": motor})))
    return watch


def test_nothing_is_said_before_a_window_has_passed() -> None:
    """Half a second must have been seen; before, neither still nor moving."""
    assert watched().travel_still is None
    assert watched((0.0, 0.5), (0.4, 0.5)).travel_still is None
    assert watched((0.0, 0.5), (0.5, 0.5)).travel_still is True


def test_spring_stroke_moves_and_its_way_is_told() -> None:
    """12 % a second is moving, and closing; a standing valve heads nowhere."""
    closing = watched(*[(n * 0.05, 1 - n * 0.006) for n in range(30)])
    assert (closing.travel_still, closing.at_rest, closing.heading, closing.rest_s) == (False, False, -1, 0.0)
    opening = watched(*[(n * 0.05, n * 0.006) for n in range(30)])
    assert opening.heading == 1
    assert watched((0.0, 0.3), (1.0, 0.3)).heading == 0


def test_running_motor_is_not_at_rest_where_the_unit_shows_it() -> None:
    """Travel still and motor running is a pump that is still about it; without a motor bit travel alone tells."""
    still = [(n * 0.1, 0.5) for n in range(12)]
    assert not watched(*still, motor=1.0).at_rest
    assert watched(*still, motor=0.0).at_rest
    assert watched(*still, motor=None).at_rest


def test_rest_is_counted_from_where_it_began() -> None:
    """Moving until 1 s, then still: seen at 2.5 s it has been at rest for about one and a half."""
    watch = watched(*[(n * 0.05, max(0.4, 0.6 - n * 0.01)) for n in range(51)])
    assert math.isclose(watch.rest_s, 1.5, abs_tol=0.11)
    watch.see(readings(2.55, travel=0.3, motor_running=0.0))
    assert watch.rest_s == 0
    watch.forget()
    assert watch.travel_still is None


def test_samples_far_apart_still_tell() -> None:
    """At practice speed 60 two samples lie seconds of unit time apart; they are compared all the same."""
    assert watched((0.0, 0.5), (3.0, 0.5)).at_rest
    assert watched((0.0, 0.5), (3.0, 0.2)).travel_still is False


def test_unit_without_travel_is_at_rest_at_its_limits_only() -> None:
    """The same limit made for a window is rest; between the limits nothing can be said."""

    def seen(open_limit: float, closed_limit: float) -> RestWatch:
        watch = RestWatch()
        for n in range(12):
            watch.see(readings(n * 0.1, open_limit=open_limit, closed_limit=closed_limit))
        return watch

    assert seen(0.0, 1.0).at_rest
    assert seen(1.0, 0.0).at_rest
    assert seen(0.0, 0.0).travel_still is None
    assert not seen(1.0, 1.0).at_rest


@given(
    st.lists(st.tuples(st.floats(0.001, 2.0), st.floats(0, 1)), min_size=2, max_size=40),
)
def test_at_rest_means_that_the_last_window_was_still(steps: list[tuple[float, float]]) -> None:
    """Whatever the curve: where it says at rest, no two travels of the last half second differ by more than STILL."""
    at_s, seen = 0.0, []
    watch = RestWatch()
    for wait_s, travel in steps:
        at_s += wait_s
        seen.append((at_s, travel))
        watch.see(readings(at_s, travel=travel))
        recent = [value for when, value in seen if when >= at_s - 0.5]
        if watch.at_rest:
            assert max(recent) - min(recent) < STILL
            assert watch.rest_s >= 0.5
        else:
            assert watch.rest_s == 0

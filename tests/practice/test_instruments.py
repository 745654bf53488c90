"""Limit contacts and noise."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.condition import HEALTHY, Condition
from commission.practice.instruments import Limits, Noise, PositionSensor


def test_limits_make_and_break_with_a_differential() -> None:
    """Made 1 to 3 % before the stop, differential at most 2 % (trade guide H2, common practice)."""
    limits = Limits(HEALTHY, 1)
    made = {}
    for tenth in [*range(1001), *range(1000, -1, -1)]:
        before = (limits.open_made, limits.closed_made)
        limits.scan(tenth / 10)
        for name, was, now in zip(("open", "closed"), before, (limits.open_made, limits.closed_made), strict=True):
            if was != now:
                made[name, now] = tenth / 10
    assert 97.0 <= made["open", True] <= 99.0
    assert 0.0 < made["open", True] - made["open", False] <= 2.0
    assert 1.0 <= made["closed", True] <= 3.0
    assert 0.0 < made["closed", False] - made["closed", True] <= 2.0


@given(st.lists(st.floats(0.0, 100.0), max_size=50))
def test_both_limits_are_never_made(travels: list[float]) -> None:
    """Whatever the travel does."""
    limits = Limits(HEALTHY, 1)
    for travel in travels:
        limits.scan(travel)
        assert not (limits.open_made and limits.closed_made)


@given(st.integers(0, 10**6), st.integers(0, 10**6), st.floats(-1e3, 1e3))
def test_noise_keeps_its_bounds_and_repeats(seed: int, scan: int, value: float) -> None:
    """Within half-width and half a step, and the same for the same scan."""
    first, second = Noise(seed, scan).around(value, 0.1, 0.01), Noise(seed, scan).around(value, 0.1, 0.01)
    assert first == second
    assert abs(first - value) <= 0.1 + 0.005 + 1e-9


def test_limits_can_be_set_early_and_set_right() -> None:
    """Closed at 11.5 % instead of 1.5, open at 89 instead of 99; set right, they are where they belong."""
    limits = Limits(Condition(closed_limit_early_pct=10.0, open_limit_early_pct=10.0, closed_limit_chatters=True), 1)
    limits.chatters = False
    found = []
    for travel_pct in (11.0, 90.0):
        limits.scan(travel_pct)
        found.append((limits.closed_made, limits.open_made))
    limits.set_right()
    for travel_pct in (50.0, 11.0, 90.0):
        limits.scan(travel_pct)
        found.append((limits.closed_made, limits.open_made))
    assert found == [(True, False), (False, True), (False, False), (False, False), (False, False)]


def test_a_position_sensor_can_slip_and_wear() -> None:
    """An offset everywhere, and nothing at all where the track is worn through."""
    sensor = PositionSensor(Condition(sensor_offset_pct=3.0, sensor_worn_at_pct=40.0))
    assert sensor.travel_pct(60.0) == pytest.approx(63.0)
    assert sensor.travel_pct(40.5) == 0.0
    assert sensor.travel_pct(42.0) == pytest.approx(45.0)


@pytest.mark.parametrize(("travel_pct", "ma"), [(0.0, 4.0), (37.0, 9.92), (100.0, 20.0)])
def test_a_sound_feedback_is_a_straight_line(travel_pct: float, ma: float) -> None:
    """4 mA closed, 20 mA open (IEC 60381-1, from memory)."""
    assert PositionSensor(Condition()).feedback_ma(travel_pct) == pytest.approx(ma)


def test_a_found_feedback_goes_through_its_points() -> None:
    """Between two points it is straight; beyond the last it goes on."""
    sensor = PositionSensor(Condition(feedback_ma_at=(4.06, 8.02, 11.95, 15.86, 19.76)))
    assert sensor.feedback_ma(12.5) == pytest.approx((4.06 + 8.02) / 2)
    assert sensor.feedback_ma(101.0) == pytest.approx(19.76 + 0.04 * (19.76 - 15.86))

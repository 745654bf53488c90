"""Limit contacts and noise."""

from hypothesis import given
from hypothesis import strategies as st

from commission.practice.condition import HEALTHY
from commission.practice.instruments import Limits, Noise


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

"""Restarts in a rolling window."""

from hypothesis import given
from hypothesis import strategies as st

from commission.practice.condition import HEALTHY
from commission.practice.settings import settings_of
from commission.practice.starts import RestartLimit
from commission.sheet import Sheet
from tests.practice.made import SHEET


def test_seventh_in_the_hour_is_refused_and_time_forgives(sheet: Sheet) -> None:
    """Six at 0 to 50 min; the seventh at 55 min is refused, at 60 min the first has dropped out."""
    limit = RestartLimit(settings_of(sheet, HEALTHY))
    assert all(limit.allow(minute * 60.0) for minute in (0, 10, 20, 30, 40, 50))
    assert not limit.allow(55 * 60.0)
    assert limit.allow(60 * 60.0)
    limit.forget()
    assert limit.count(60 * 60.0) == 0


@given(st.lists(st.floats(0.0, 2000.0), max_size=60))
def test_never_more_than_allowed_in_any_window(gaps_s: list[float]) -> None:
    """Whatever asks, no window of an hour holds more than six."""
    limit = RestartLimit(settings_of(SHEET, HEALTHY))
    now_s, allowed = 0.0, []
    for gap_s in gaps_s:
        now_s += gap_s
        if limit.allow(now_s):
            allowed.append(now_s)
    assert all(sum(at - 3600 < other <= at for other in allowed) <= 6 for at in allowed)

"""Tests of due dates: both clocks, month ends, leap days; the regulation's cases are in tests/published."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.due import RULES, add_months, next_due, plain

DAYS = st.dates(date(2000, 1, 1), date(2090, 12, 31))


@given(day=DAYS, months=st.integers(0, 60))
def test_months_against_another_library(day: date, months: int) -> None:
    """Dateutil clamps to the month's last day too."""
    assert add_months(day, months) == day + relativedelta(months=months)


@given(last=DAYS, later=st.integers(1, 400), name=st.sampled_from(sorted(RULES)))
def test_a_later_test_is_never_due_earlier(last: date, later: int, name: str) -> None:
    """In the same place of its period; and the next is always after the last, within both clocks."""
    due = next_due(RULES[name], last, done_in_period=2)
    after = next_due(RULES[name], last + timedelta(days=later), done_in_period=2)
    assert due.latest > last
    assert due.latest <= after.latest
    assert due.latest == min(day for day in (due.by_interval, due.by_calendar) if day is not None)


def test_both_clocks_are_told() -> None:
    """15 months would allow February, but the calendar year would have none."""
    due = next_due(RULES["gas transmission valve"], date(2024, 11, 20))
    assert (due.by_interval, due.by_calendar) == (date(2026, 2, 20), date(2025, 12, 31))
    assert due.binds == "calendar"
    assert due.warning(date(2025, 10, 1)) == ""
    assert due.warning(date(2025, 12, 1)) == "30 days left"
    assert due.warning(date(2025, 12, 30)) == "1 day left"
    assert due.warning(date(2026, 1, 2)) == "overdue by 2 days"


def test_half_a_month_is_said_to_be_a_reading() -> None:
    """Nobody confirms that it is 15 days."""
    assert "15 days" in next_due(RULES["liquid mainline valve"], date(2024, 1, 10)).reading
    assert next_due(RULES["gas transmission valve"], date(2024, 1, 10)).reading == ""


def test_an_interval_of_the_owners_own() -> None:
    """Plain months and days, one clock."""
    due = next_due(plain(months=3), date(2024, 11, 30))
    assert (due.latest, due.by_calendar, due.binds) == (date(2025, 2, 28), None, "interval")
    assert plain(months=1, days=10).words == "every 1 months and 10 days"
    with pytest.raises(ValueError, match="some months"):
        plain()
    with pytest.raises(ValueError, match="counts as one"):
        next_due(plain(days=3), date(2024, 1, 1), 0)

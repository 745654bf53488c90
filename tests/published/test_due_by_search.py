"""
Due dates by brute force: the latest day on which both clocks still hold, found day by day from the words of the rule.

The words: 49 CFR 192.745(a), 192.740(b), 195.420(b) and 30 CFR 250.804 (published values 12; R). Nothing of the
program's own date arithmetic is used in the search but the calendar of Python.
"""

import calendar
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.engineering.due import RULES, next_due

Holds = Callable[[date], bool]
DAY = timedelta(days=1)
DAYS = st.dates(date(2019, 1, 1), date(2036, 12, 31))


def latest(last: date, interval_ends: date, period_holds: Holds) -> date:
    """The last day, from the day after `last` on, that is within the interval and lets every period hold enough."""
    day, found = last + DAY, last
    while day <= interval_ends:
        if period_holds(day):
            found = day
        day += DAY
    return found


def once_a_year(last: date) -> Holds:
    """No calendar year between the last test and the next goes without one."""
    return lambda day: day.year <= last.year + 1


def twice_a_year(last: date, done: int) -> Holds:
    """With one test so far the second must fall in the same year; with two the next year's first is next."""
    return lambda day: day.year == last.year if done == 1 else day.year <= last.year + 1


def once_in_three_years(last: date) -> Holds:
    """The third calendar year after the last test ends before it is too late."""
    return lambda day: day.year <= last.year + 3


def once_a_month(last: date) -> Holds:
    """No calendar month goes without one."""
    return lambda day: (day.year - last.year) * 12 + day.month - last.month <= 1


@settings(max_examples=40)
@given(last=DAYS)
def test_once_each_calendar_year(last: date) -> None:
    """15 months, and a test in each year (192.745(a))."""
    expected = latest(last, last + relativedelta(months=15), once_a_year(last))
    assert next_due(RULES["gas transmission valve"], last).latest == expected


@settings(max_examples=40)
@given(last=DAYS, done=st.integers(1, 2))
def test_twice_each_calendar_year(last: date, done: int) -> None:
    """7 1/2 months read as 7 months and 15 days, and two tests in each year (195.420(b))."""
    interval = last + relativedelta(months=7) + timedelta(days=15)
    expected = latest(last, interval, twice_a_year(last, done))
    if expected == last:  # the 31st of December with one test so far: the second is due on that very day
        expected = date(last.year, 12, 31)
    assert next_due(RULES["liquid mainline valve"], last, done).latest == expected


@settings(max_examples=15)
@given(last=DAYS)
def test_once_in_three_calendar_years(last: date) -> None:
    """39 months, and one in three calendar years (192.740(b))."""
    expected = latest(last, last + relativedelta(months=39), once_in_three_years(last))
    assert next_due(RULES["gas distribution farm tap"], last).latest == expected


@settings(max_examples=40)
@given(last=DAYS)
def test_once_each_calendar_month(last: date) -> None:
    """Six weeks, and one in each month (30 CFR 250.804(a)(5), 2015 edition)."""
    expected = latest(last, last + timedelta(days=42), once_a_month(last))
    assert next_due(RULES["offshore pressure switch"], last).latest == expected


@pytest.mark.parametrize("year", [2023, 2024, 2028, 2100])
def test_the_end_of_february(year: int) -> None:
    """30 November and 3 months: the last day of February, leap year or not (2100 is none)."""
    last_day = calendar.monthrange(year, 2)[1]
    due = next_due(RULES["offshore electronic transmitter"], date(year - 1, 11, 30))
    assert due.latest == date(year, 2, last_day)


@pytest.mark.parametrize(
    ("done", "due"),
    [
        ("2024-01-31", "2025-04-30"),
        ("2023-11-30", "2024-12-31"),
        ("2024-02-29", "2025-05-29"),
        ("2024-12-31", "2025-12-31"),
        ("2025-01-01", "2026-04-01"),
    ],
)
def test_month_ends_of_the_yearly_rule(done: str, due: str) -> None:
    """Months clamp to the month's last day; the calendar year binds late in the year (C)."""
    assert next_due(RULES["gas transmission valve"], date.fromisoformat(done)).latest == date.fromisoformat(due)

"""
When a test is due again: an interval and a calendar, and the earlier of the two binds.

"At intervals not exceeding 15 months, but at least once each calendar year" runs two clocks. The words are public law;
which rule applies is the owner's to say, and the program never says that one is complied with (safety rule R26).
Months clamp to the month's last day. Half a month is read as 15 days, a reading of ours that no source confirms; it is
said wherever the date is printed.
"""

import calendar
from datetime import date, timedelta
from typing import Literal

import msgspec

WARN_DAYS = (60, 30)
"""Days ahead at which a due date is worth a word; common practice, no source."""


class Rule(msgspec.Struct, frozen=True, kw_only=True):
    """
    How often.

    Args:
        words: What binds, as it is printed.

        source: Document, section and the text's date.

        months: Longest interval, whole months.

        days: Longest interval, days on top of the months.

        period: The calendar period that must hold enough tests; empty for none.

        periods: How many such periods one test may stand for.

        times: Tests that each period must hold.
    """

    words: str
    source: str
    months: int = 0
    days: int = 0
    period: Literal["", "year", "month"] = ""
    periods: int = 1
    times: int = 1


class Due(msgspec.Struct, frozen=True, kw_only=True):
    """
    When the next test is due.

    Args:
        by_interval: Last day by the interval; None where there is none.

        by_calendar: Last day by the calendar; None where there is none.

        reading: What had to be read into the words, empty where nothing.
    """

    by_interval: date | None
    by_calendar: date | None
    reading: str = ""

    @property
    def latest(self) -> date:
        """The earlier of the two: the last day on which the next test is in time."""
        return min(day for day in (self.by_interval, self.by_calendar) if day is not None)

    @property
    def binds(self) -> str:
        """Which of the two that is."""
        return "interval" if self.latest == self.by_interval else "calendar"

    def warning(self, today: date) -> str:
        """Words about a near or past due date, empty while it is far."""
        left = (self.latest - today).days
        if left < 0:
            return f"overdue by {-left} day{'' if left == -1 else 's'}"
        return f"{left} day{'' if left == 1 else 's'} left" if left <= WARN_DAYS[0] else ""


HALF_MONTH = "half a month read as 15 days"
_GAS = "49 CFR {}, 2015 annual edition, same words in later public copies"

RULES = {
    "gas transmission valve": Rule(
        words="inspected and partially operated at intervals not exceeding 15 months, but at least once each calendar"
        " year",
        source=_GAS.format("192.745(a)"),
        months=15,
        period="year",
    ),
    "gas pressure limiting": Rule(
        words="inspected and tested at intervals not exceeding 15 months, but at least once each calendar year",
        source=_GAS.format("192.739(a)"),
        months=15,
        period="year",
    ),
    "compressor station remote shutdown": Rule(
        words="inspected and tested at intervals not exceeding 15 months, but at least once each calendar year",
        source="49 CFR 192.731(c), text of 2021-01-21",
        months=15,
        period="year",
    ),
    "gas distribution farm tap": Rule(
        words="inspected and tested at least once every 3 calendar years, not exceeding 39 months",
        source="49 CFR 192.740(b), text of 2026",
        months=39,
        period="year",
        periods=3,
    ),
    "liquid mainline valve": Rule(
        words="inspected at intervals not exceeding 7 1/2 months, but at least twice each calendar year",
        source="49 CFR 195.420(b), 2015 annual edition; amended in 2022",
        months=7,
        days=15,
        period="year",
        times=2,
    ),
    "liquid overpressure device": Rule(
        words="inspected and tested at intervals not exceeding 15 months, but at least once each calendar year",
        source="49 CFR 195.428(a), 2015 annual edition",
        months=15,
        period="year",
    ),
    "liquid overpressure device, highly volatile": Rule(
        words="inspected and tested at intervals not to exceed 7 1/2 months, but at least twice each calendar year",
        source="49 CFR 195.428(a), 2015 annual edition",
        months=7,
        days=15,
        period="year",
        times=2,
    ),
    "offshore pressure switch": Rule(
        words="tested at least once each calendar month, with no more than 6 weeks between tests",
        source="30 CFR 250.804(a)(5), 2015 annual edition; renumbered in 2016; offshore only",
        days=42,
        period="month",
    ),
    "offshore electronic transmitter": Rule(
        words="tested every 3 months, with no more than 120 days between tests; every 3 months read as an interval",
        source="30 CFR 250.804(a)(4), 2015 annual edition; renumbered in 2016; offshore only",
        months=3,
    ),
    "hazardous area inspection": Rule(
        words="intervals not exceeding 3 years without expert advice",
        source="IEC 60079-17, as summarised in public",
        months=36,
    ),
}
"""Rules that an owner may choose. Outside the United States local law takes the place of the first nine."""


def plain(months: int = 0, days: int = 0) -> Rule:
    """
    An interval of the owner's own.

    Raises:
        ValueError: no time at all.
    """
    if months < 0 or days < 0 or months + days == 0:
        raise ValueError("some months or days")
    parts = [f"{months} months" if months else "", f"{days} days" if days else ""]
    words = "every " + " and ".join(part for part in parts if part)
    return Rule(words=words, source="the owner's own interval", months=months, days=days)


def next_due(rule: Rule, last: date, done_in_period: int = 1) -> Due:
    """
    When the next test is due.

    Args:
        rule: How often.

        last: Day of the last test that was completed and passed.

        done_in_period: How many tests the calendar period of `last` holds, that one counted.

    Raises:
        ValueError: the period holds no test although one was done in it.
    """
    if done_in_period < 1:
        raise ValueError("the last test counts as one")
    by_interval = add_months(last, rule.months) + timedelta(days=rule.days) if rule.months or rule.days else None
    reading = HALF_MONTH if rule.months and rule.days == 15 else ""
    return Due(by_interval=by_interval, by_calendar=_calendar_end(rule, last, done_in_period), reading=reading)


def add_months(day: date, months: int) -> date:
    """A day so many months later, at most the last day of its month: 31 January and one month is 28 or 29 February."""
    place = day.year * 12 + day.month - 1 + months
    year, month = divmod(place, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _calendar_end(rule: Rule, last: date, done: int) -> date | None:
    """Last day of the first calendar period that would otherwise hold too few tests."""
    if not rule.period:
        return None
    ahead = 0 if done < rule.times else rule.periods
    if rule.period == "year":
        return date(last.year + ahead, 12, 31)
    first = add_months(last.replace(day=1), ahead)
    return first.replace(day=calendar.monthrange(first.year, first.month)[1])

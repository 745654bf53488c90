"""
Due dates against published values 12: the words of 49 CFR 192 and 195 and of 30 CFR 250 (R), the days computed (C).

How a regulator reads "15 months" to the day, and half a month, is not confirmed; half a month is read as 15 days.
"""

from datetime import date

import pytest

from commission.engineering.due import RULES, next_due
from tests.published.rows import rows_of

OURS = {
    "192.745(a)": "gas transmission valve",
    "195.420(b)": "liquid mainline valve",
    "192.740(b)": "gas distribution farm tap",
    "195.428(a) HVL": "liquid overpressure device, highly volatile",
    "30 CFR 250.804(a)(5) (2015 edition)": "offshore pressure switch",
    "30 CFR 250.804(a)(4) (2015 edition)": "offshore electronic transmitter",
}


@pytest.mark.parametrize("row", rows_of("due_dates.csv"), ids=lambda row: f"{row['rule']} {row['last_done']}")
def test_latest_next(row: dict[str, str]) -> None:
    """12.16 to 12.22 and more: which clock binds, month ends, a leap day, first and second of a year."""
    done = 2 if "2nd of" in row["interval"] else 1
    due = next_due(RULES[OURS[row["rule"]]], date.fromisoformat(row["last_done"]), done)
    assert due.latest == date.fromisoformat(row["latest_next"]), row["why"]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("gas transmission valve", "at intervals not exceeding 15 months, but at least once each calendar year"),
        ("liquid mainline valve", "at intervals not exceeding 7 1/2 months, but at least twice each calendar year"),
        ("gas distribution farm tap", "at least once every 3 calendar years, not exceeding 39 months"),
    ],
)
def test_the_words_that_bind_are_printed(name: str, words: str) -> None:
    """12.1, 12.10, 12.7 (R)."""
    assert words in RULES[name].words


@pytest.mark.parametrize(("done", "due"), [("2024-09-30", "2025-12-30"), ("2024-10-01", "2025-12-31")])
def test_where_the_two_rules_meet(done: str, due: str) -> None:
    """12.18 (C)."""
    assert next_due(RULES["gas transmission valve"], date.fromisoformat(done)).latest == date.fromisoformat(due)

"""Tests of what the owner gives of line, safety calculation and intervals."""

import pytest

from commission.sheet.owner import Interval
from tests.sheet.xv import changed, problems_of, xv_1101


def test_a_sheet_lives_without_it() -> None:
    """Nothing of it is asked of a sheet; who gave it is asked of what is there."""
    plain = changed(('revision = "D"', 'revision = "E"'))
    assert plain.reliability is None or plain.reliability.undetected_per_h.by
    anonymous = changed_end('\n[[intervals]]\nwhat = "x"\nmonths = 3\n')
    assert any("chosen_by" in problem for problem in anonymous)


def changed_end(text: str) -> list[str]:
    """Problems of the sheet with this put before its first source."""
    return problems_of(('[[sources]]\nid = "motor"', f'{text}\n[[sources]]\nid = "motor"'))


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ('[[intervals]]\nwhat = "x"\nchosen_by = "y"\n', "either rule"),
        ('[[intervals]]\nwhat = "x"\nchosen_by = "y"\nrule = "z"\nmonths = 1\n', "either rule"),
    ],
)
def test_an_interval_is_a_rule_or_a_time(text: str, wrong: str) -> None:
    """Not neither, and not both."""
    assert any(wrong in problem for problem in changed_end(text))


def test_an_interval_of_ones_own() -> None:
    """Months, days, or both."""
    assert Interval(what="partial stroke", months=3, chosen_by="owner").months == 3


def test_the_demonstration_sheet_names_who_gave_what() -> None:
    """Every number of the safety calculation bears a name (safety rule R26)."""
    sheet = xv_1101()
    assert sheet.pipeline is not None
    assert sheet.pipeline.given_by
    assert sheet.reliability is not None
    given = sheet.reliability
    for number in (given.undetected_per_h, given.full_interval_h, given.full_coverage, given.life_h):
        assert number.by

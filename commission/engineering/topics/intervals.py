"""When the tests of this unit are due again: both clocks of each, which binds, and whose choice the rule was."""

from datetime import date

import msgspec

from commission.engineering.due import RULES, Due, Rule, next_due, plain
from commission.sheet.model import Sheet
from commission.sheet.owner import Interval


class Planned(msgspec.Struct, frozen=True, kw_only=True):
    """
    A test and when it is due.

    Args:
        what: What is tested.

        rule: How often, with its words and source.

        chosen_by: Who chose the rule.

        last: The last test that was completed and passed.

        due: Both clocks.
    """

    what: str
    rule: Rule
    chosen_by: str
    last: date
    due: Due


def planned(sheet: Sheet, last: date, done_in_period: int = 1) -> tuple[Planned, ...]:
    """
    The sheet's tests, if all were last done on one day, soonest first.

    Args:
        sheet: The unit.

        last: Day of the last test that was completed and passed.

        done_in_period: How many the calendar period of that day holds.

    Raises:
        KeyError: a rule has no such name; the message names the known ones.
    """
    found = [
        Planned(
            what=interval.what,
            rule=rule_of(interval),
            chosen_by=interval.chosen_by,
            last=last,
            due=next_due(rule_of(interval), last, done_in_period),
        )
        for interval in sheet.intervals
    ]
    return tuple(sorted(found, key=lambda one: one.due.latest))


def rule_of(interval: Interval) -> Rule:
    """
    The rule of an interval.

    Raises:
        KeyError: no such rule.
    """
    if not interval.rule:
        return plain(interval.months, interval.days)
    if interval.rule not in RULES:
        raise KeyError(f"{interval.rule!r} is none of {', '.join(sorted(RULES))}")
    return RULES[interval.rule]

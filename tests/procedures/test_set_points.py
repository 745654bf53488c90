"""Set points from the link, as they are planned and refused; what reaches a unit is in tests/rules/test_r14_*."""

import pytest

from commission.analysis.set_points import SetPointEnd, SetPointsObserved
from commission.procedures.requests import Begin, Reply, Request, SafeEnd
from commission.procedures.set_points import set_points, set_points_longest_s
from tests.analysis.seen import SHEET
from tests.procedures.test_fail_safe_plan import FCV
from tests.procedures.test_pulse_set_point import Unit


class Following(Unit):
    """A unit whose valve is where its set point says, as long as it follows the link."""

    def reply(self, request: Request) -> Reply:
        """Obey."""
        found = super().reply(request)
        if self.link:
            self.travel = self.set_point
        return found


def ran(unit: Unit, steps: str) -> SetPointsObserved:
    """A run on this unit."""
    procedure = set_points(FCV, {"test": "M4 1", "steps": steps, "settle_s": "1"})
    try:
        request = next(procedure)
        while True:
            request = procedure.send(unit.reply(request))
    except StopIteration as done:
        found: SetPointsObserved = done.value
        return found


def given(unit: Unit) -> list[int]:
    """The set points that it was given."""
    return [value for role, value in unit.commands if role == "set_point"]


def test_r14_the_agreed_end_is_hold_then_hand_back() -> None:
    """LOCAL, ESD and leaving automatic take the valve away."""
    begun = next(set_points(FCV, {"test": "M4 1"}))
    assert isinstance(begun, Begin)
    assert begun.safe_end is SafeEnd.STOP
    assert begun.hand_back is not None
    assert {"esd_healthy", "remote", "automatic"} <= set(begun.guards)
    assert begun.longest_s <= set_points_longest_s(FCV, {"test": "M4 1"})


def test_the_first_is_where_it_stands_the_last_is_where_it_began() -> None:
    """Then the source is handed back."""
    unit = Following()
    found = ran(unit, "5 -2 10 10")
    assert found.ended is SetPointEnd.DONE
    assert given(unit) == [4000, 4500, 4300, 5300, 6300, 5300, 4300, 4000]
    assert unit.commands[-1] == ("command_follow_loop", 1)
    assert not unit.link
    assert [round(one.share * 10000) for one in found.given] == given(unit)


def test_r14_it_waits_as_long_as_the_sheets_rate_asks() -> None:
    """10 % at 5 %/s: two seconds from one set point to the next, whatever the settling time."""
    unit = Following()
    found = ran(unit, "10")
    first, second, *_ = found.given
    assert (second.at_ns - first.at_ns) / 1e9 >= 2.0


def test_the_ends_of_travel_are_not_passed() -> None:
    """A step beyond an end stops there."""
    unit = Following()
    unit.travel = 0.97
    ran(unit, "10 10")
    assert max(given(unit)) == 10000


def test_a_source_that_is_not_taken_ends_it_there() -> None:
    """Nothing is stepped; and one that is not handed back is said."""
    unit = Following()
    unit.obeys = lambda role: role != "command_follow_link"
    found = ran(unit, "5")
    assert (found.ended, len(found.given)) == (SetPointEnd.NOT_TAKEN, 1)
    stuck = Following()
    stuck.obeys = lambda role: role != "command_follow_loop"
    assert ran(stuck, "5").ended is SetPointEnd.NOT_BACK
    refused = Following()
    refused.refuses = frozenset({"set_point"})
    assert ran(refused, "5").ended is SetPointEnd.NOT_TAKEN
    blind = Following()
    blind.travel = None
    assert ran(blind, "5").ended is SetPointEnd.NOT_READY
    assert blind.commands == []


@pytest.mark.parametrize(("steps", "words"), [("11", "above 10 %"), ("up", "numbers in % of travel"), ("", "1 to 60")])
def test_steps_that_the_sheet_does_not_allow_are_refused_beforehand(steps: str, words: str) -> None:
    """Before anybody is asked for a go."""
    with pytest.raises(ValueError, match=words):
        next(set_points(FCV, {"test": "M4 1", "steps": steps}))
    with pytest.raises(ValueError, match="need a point for set_point"):
        next(set_points(SHEET, {"test": "M4 1"}))

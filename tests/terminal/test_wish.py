"""Tests of wishes in words."""

from commission.terminal.wish import Wish


def test_a_wish_is_said_in_one_line() -> None:
    """Nothing named is the sheet; else scenario, faults and what the command line had, then the seed."""
    assert Wish().words == "as its sheet says; seed 0"
    assert Wish(scenario="the-day", faults=("worn-pump=0.5",), seed=3).words == "the-day, worn-pump=0.5; seed 3"
    assert Wish(beside="as asked for").words == "as asked for; seed 0"

"""What a checklist says of a watch."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.procedures.watch_arguments import minutes_s, upper_limits

KNOWN = {"most_change_pct": ("travel_change", -2), "most_turns": ("turns_count", 0)}


@given(st.decimals("0.1", "1439", places=1))
def test_minutes_are_given_in_seconds(minutes: object) -> None:
    """As a checklist writes them."""
    assert minutes_s({"minutes": str(minutes)}, "how long") == pytest.approx(60 * float(str(minutes)))


@pytest.mark.parametrize("text", ["", "soon", "0", "-3", "1440", "nan", "inf"])
def test_what_is_no_length_of_time_is_said(text: str) -> None:
    """With what it is the length of, and what stood there."""
    with pytest.raises(ValueError, match="minutes: how long to watch, above 0 and below a day, not") as said:
        minutes_s({"minutes": text}, "how long to watch")
    assert repr(text) in str(said.value)


def test_limits_that_are_given_are_moved_to_the_unit_of_their_figures() -> None:
    """Half a per cent is 0.005; not a digit is lost on the way. What is not given is not limited."""
    assert [(name, limits.high) for name, limits in upper_limits({"most_change_pct": "0.50"}, KNOWN)] == [
        ("travel_change", "0.0050")
    ]
    assert [name for name, _ in upper_limits({"most_turns": "0", "most_change_pct": "1"}, KNOWN)] == [
        "travel_change",
        "turns_count",
    ]


def test_no_limit_or_one_that_is_no_number_is_said() -> None:
    """The names that could be given, or the one that is wrong."""
    with pytest.raises(ValueError, match="a limit: most_change_pct, most_turns"):
        upper_limits({}, KNOWN)
    with pytest.raises(ValueError, match="most_turns: a number, not 'few'"):
        upper_limits({"most_turns": "few"}, KNOWN)

"""The key line: whole labels, the least important left out first, and the permit's minutes kept in any case."""

from hypothesis import given
from hypothesis import strategies as st

from commission.terminal.widgets.lines import Key, fitted

KEYS = (Key("Enter", "answer", 0), Key("G", "GAS ALARM", 1), Key("P", "points", 3), Key("R", "report", 7))
keys = st.lists(
    st.builds(Key, st.text(min_size=1, max_size=6), st.text(min_size=1, max_size=12), st.integers(0, 9)), max_size=12
)


def test_all_are_shown_where_there_is_room() -> None:
    """In their order."""
    assert fitted(KEYS, 80) == "Enter answer   G GAS ALARM   P points   R report"


def test_the_least_important_goes_first_and_whole() -> None:
    """No label is ever cut."""
    assert fitted(KEYS, 40) == "Enter answer  G GAS ALARM  P points"
    assert fitted(KEYS, 30) == "Enter answer  G GAS ALARM"
    assert fitted(KEYS, 13) == "Enter answer"


def test_the_permit_stands_at_the_right() -> None:
    """Its minutes are always in sight (safety rule R7)."""
    line = fitted(KEYS, 50, "permit 198 min")
    assert line.endswith("permit 198 min")
    assert len(line) == 50
    assert line.startswith("Enter answer  G GAS ALARM")


@given(keys, st.integers(20, 130), st.sampled_from(["", "permit 9 min", "PERMIT ENDED"]))
def test_it_never_is_wider_than_its_place(found: list[Key], width: int, right: str) -> None:
    """Whatever keys there are; what stands at the right is whole."""
    line = fitted(found, width, right)
    assert len(line) <= width
    assert line.endswith(right)


@given(keys, st.integers(20, 130))
def test_what_is_left_out_is_never_more_important_than_what_is_shown(found: list[Key], width: int) -> None:
    """By priority, the lowest number first."""
    shown = fitted(found, width)
    kept = [key for key in found if f"{key.key} {key.label}" in shown]
    most = max((key.priority for key in kept), default=-1)
    gone = [key.priority for key in found if f"{key.key} {key.label}" not in shown]
    assert all(priority >= most for priority in gone) or not kept

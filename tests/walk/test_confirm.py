"""Confirming a movement: what is typed, what is enough, and for how long."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.job.bodies import LeaveWithdrawn
from commission.walk.confirm import (
    Confirmation,
    ConfirmError,
    confirm,
    is_confirmed,
    kind_of_confirmation,
    tag_characters,
)
from commission.walk.movement import MotionTest
from tests.walk.visits import TESS, Visit, good_person

OPEN = MotionTest("K1 open 1", "K1", "open", 1, 275.0)
AGAIN = MotionTest("K1 open 3", "K1", "open", 3, 275.0)
CLOSED = MotionTest("K1 closed 2", "K1", "closed", 2, 50.0)


@pytest.fixture
def visit() -> Visit:
    """Live, four counted, nothing moved from here yet."""
    person = good_person()
    person.walk_to("K1")
    return person.visit


def test_the_first_movement_of_a_live_period_asks_in_full(visit: Visit) -> None:
    """Count, characters and who says go."""
    assert kind_of_confirmation(visit.job, OPEN, visit.now) is Confirmation.FULL
    body = confirm(visit.job, OPEN, "4, 1101, Mara Mockford", TESS, visit.now)
    assert (body.test, body.count, body.tag_characters, body.said_go) == ("K1 open 1", 4, "1101", "Mara Mockford")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3 1101 Mara Mockford", "count differs"),
        ("4 1102 Mara Mockford", "not the characters"),
        ("4 1101", "who says go"),
        ("", "type the count"),
        ("\n", "type the count"),
        ("g", "type the count"),
    ],
)
def test_what_does_not_hold_moves_nothing_and_gives_nothing_away(visit: Visit, text: str, words: str) -> None:
    """The message says what to look at, never what to type."""
    with pytest.raises(ConfirmError, match=words) as raised:
        confirm(visit.job, OPEN, text, TESS, visit.now)
    assert "1101" not in str(raised.value)
    assert "4" not in str(raised.value)


def test_a_repeat_within_ten_minutes_takes_one_key(visit: Visit) -> None:
    """The same test and direction; anything but the key leaves everything as it is."""
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    visit.wait(9)
    assert kind_of_confirmation(visit.job, AGAIN, visit.now) is Confirmation.COUNTDOWN
    for text in ("", " ", "\r", "yes"):
        with pytest.raises(ConfirmError, match="any other key"):
            confirm(visit.job, AGAIN, text, TESS, visit.now)
    body = confirm(visit.job, AGAIN, "G", TESS, visit.now)
    assert (body.test, body.said_go) == ("K1 open 3", "Mara Mockford")


def test_ten_minutes_a_direction_and_a_crossing_ask_in_full_again(visit: Visit) -> None:
    """Each by itself."""
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    assert kind_of_confirmation(visit.job, CLOSED, visit.now) is Confirmation.FULL
    visit.wait(10)
    assert kind_of_confirmation(visit.job, AGAIN, visit.now) is Confirmation.FULL


def test_a_new_live_period_asks_in_full_again(visit: Visit) -> None:
    """The state was lost and proved again within the minute."""
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    visit.lose_state()
    assert kind_of_confirmation(visit.job, AGAIN, visit.now) is Confirmation.FULL
    assert not is_confirmed(visit.job, OPEN, visit.now)


def test_a_confirmation_is_for_one_run(visit: Visit) -> None:
    """What was said for one run starts no other."""
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    visit.wait(0.1)
    assert is_confirmed(visit.job, OPEN, visit.now)
    assert not is_confirmed(visit.job, AGAIN, visit.now)


@pytest.mark.parametrize(
    ("tag", "others", "characters"),
    [
        ("XV-1101", (), "1101"),
        ("XV-1101", ("XV-1102",), "1"),
        ("XV-1101", ("XV-1102", "XV-1201"), "11"),
        ("XV-1101", ("BDV-3307",), "1101"),
        ("VALVE", (), "VALVE"),
    ],
)
def test_the_characters_that_tell_a_unit_apart(tag: str, others: tuple[str, ...], characters: str) -> None:
    """Of units that look the same, only what differs is asked for, and it must be read to be known."""
    assert tag_characters(tag, others) == characters


@given(
    st.from_regex(r"[A-Z]{2}-[0-9]{4}", fullmatch=True), st.lists(st.from_regex(r"[A-Z]{2}-[0-9]{4}", fullmatch=True))
)
def test_no_two_units_of_a_round_share_their_characters(tag: str, others: list[str]) -> None:
    """What is typed for one unit never confirms another."""
    rivals = [other for other in others if other != tag]
    mine = tag_characters(tag, rivals)
    assert mine
    for other in rivals:
        assert tag_characters(other, [tag, *(rival for rival in rivals if rival != other)]) != mine


def test_r13_a_go_begins_one_movement_only(visit: Visit) -> None:
    """Refused, or stopped before it began: the same test is not confirmed any more, nor by one key."""
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    assert is_confirmed(visit.job, OPEN, visit.now)
    visit.record(LeaveWithdrawn(test=OPEN.name, reason="not begun: stopped before it began"))
    assert not is_confirmed(visit.job, OPEN, visit.now)
    assert kind_of_confirmation(visit.job, OPEN, visit.now) is Confirmation.FULL
    visit.wait(0.1)
    visit.record(confirm(visit.job, OPEN, "4 1101 Mara Mockford", TESS, visit.now))
    assert is_confirmed(visit.job, OPEN, visit.now)

"""The stop field fits its place, and never leaves out what the key does nor where the local stop is."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.procedures.requests import SafeEnd
from commission.supervise.stop_field import stop_field
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()


@pytest.mark.parametrize("key", ["SPACE", "ENTER or Ctrl-C", "Esc, then SPACE"])
@pytest.mark.parametrize("safe_end", [*SafeEnd, None])
@pytest.mark.parametrize("make_safe_s", [0.001, 0.31, None])
def test_it_fits_80_columns_whatever_the_key_is_called(
    key: str, safe_end: SafeEnd | None, make_safe_s: float | None
) -> None:
    """The app's key and the command line's, with and without a line."""
    assert len(stop_field(SHEET, safe_end, make_safe_s, key, 79)) <= 79


def test_the_fuller_sentence_is_taken_where_there_is_room() -> None:
    """80 columns say that the time is until the unit is reached; fewer only the time."""
    assert stop_field(SHEET, SafeEnd.STOP, 0.05, "SPACE") == (
        "SPACE sends STOP, reaches the unit in 0.05 s. Local: ESD button, north panel"
    )
    assert stop_field(SHEET, SafeEnd.STOP, 0.05, "SPACE", 60) == (
        "SPACE sends STOP, 0.05 s. Local: ESD button, north panel"
    )


def test_keep_out_makes_room_before_the_local_stop_does() -> None:
    """On a narrow screen the place of the local stop stays."""
    assert stop_field(SHEET, SafeEnd.SEND_NOTHING, None, "SPACE", 64) == (
        "NOTHING HERE STOPS THIS STROKE. Local: ESD button, north panel"
    )


@given(
    st.text(min_size=1, max_size=60),
    st.sampled_from(SafeEnd),
    st.none() | st.floats(0, 5),
    st.integers(20, 200),
)
def test_nothing_of_it_is_ever_left_out(place: str, safe_end: SafeEnd, make_safe_s: float | None, width: int) -> None:
    """Whatever the place is called and however narrow it is: the act and the place are said."""
    behaviour = msgspec.structs.replace(SHEET.behaviour, local_stop=place)
    words = stop_field(msgspec.structs.replace(SHEET, behaviour=behaviour), safe_end, make_safe_s, "SPACE", width)
    assert words.endswith(f"Local: {place}")
    nothing = make_safe_s is None or safe_end is SafeEnd.SEND_NOTHING
    assert ("NOTHING HERE STOPS" in words) is nothing
    assert nothing or f"sends {'STOP' if safe_end is SafeEnd.STOP else 'RETURN'}" in words


def test_where_nothing_moves_it_says_what_the_key_ends() -> None:
    """No stroke is spoken of that nobody makes; the local stop is named all the same."""
    assert stop_field(SHEET, None, 0.05, "SPACE") == (
        "Nothing is commanded here. SPACE ends the watch. Local: ESD button, north panel"
    )


@pytest.mark.parametrize(("key", "back"), [("SPACE", "R"), ("ENTER or Ctrl-C", "R")])
def test_r11_in_a_partial_stroke_one_key_stops_and_one_returns(key: str, back: str) -> None:
    """Both are named, with the time and the local stop, in 80 columns."""
    words = stop_field(SHEET, SafeEnd.RETURN, 0.05, key, 80, back)
    assert words.startswith(f"{key} sends STOP, {back} RETURN,")
    assert words.endswith("0.05 s. Local: ESD button, north panel")
    assert len(words) <= 80
    assert stop_field(SHEET, SafeEnd.RETURN, None, key, 80, back).startswith("NOTHING HERE STOPS")

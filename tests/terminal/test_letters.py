"""Plain letters: spelled out where there is room, one for one at the very end, always ASCII and as wide as before."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color

from commission.terminal.letters import PlainLetters, ascii_only, plain


@pytest.mark.parametrize(
    ("text", "spelled"),
    [
        ("±1 % of span", "+/-1 % of span"),
        ("t6 − t0 ≥ 2 s", "t6 - t0 >= 2 s"),
        ("2 MΩ, 20 °C", "2 Mohm, 20 deg C"),
        ("é", "?"),
    ],
)
def test_signs_with_a_meaning_are_spelled_out(text: str, spelled: str) -> None:
    """What has no plain letter is a question mark, never nothing."""
    assert ascii_only(text) == spelled


@pytest.mark.parametrize(("drawn", "letters"), [("│─┼", "|-+"), ("█▁▇", "#  "), ("−×", "-x"), ("°", "?"), ("界", "??")])
def test_what_is_drawn_becomes_one_letter(drawn: str, letters: str) -> None:
    """Frames, bars, and signs for which there is no room any more."""
    assert plain(drawn) == letters


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=40))
def test_it_is_ascii_and_as_wide_as_before(text: str) -> None:
    """Whatever somebody typed or a file holds."""
    assert plain(text).isascii()
    assert ascii_only(text).isascii()
    assert cell_len(plain(text)) == cell_len(text) or any(cell_len(letter) == 0 for letter in text)


def test_the_filter_keeps_styles() -> None:
    """Only the letters change."""
    (segment,) = PlainLetters().apply([Segment("a│b")], Color(0, 0, 0))
    assert segment == Segment("a|b")

"""Tests of pages: wrapped, clipped at words, choices in columns, nothing that acts on a terminal, plain letters."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.terminal.letters import ascii_only
from commission.terminal.widgets.page import clipped, fitting, heading, numbered, paragraph, visible
from tests.terminal.prepared import HOSTILE


@given(text=st.text(), width=st.integers(10, 120))
def test_clipped_is_never_wider_and_says_so(text: str, width: int) -> None:
    """A text that fits is whole; one that does not ends with the sign that something is missing."""
    line = clipped(text, width)
    assert len(line) <= width
    assert line == visible(text) or line.endswith("…")


@given(text=st.text())
def test_visible_text_cannot_act_on_a_terminal(text: str) -> None:
    """No control, format or direction character is left, whatever was typed."""
    assert not [character for character in visible(text) if unicodedata.category(character)[0] == "C"]


@given(text=st.text(min_size=1), width=st.integers(20, 120))
def test_paragraph_keeps_within_the_width(text: str, width: int) -> None:
    """No line of a paragraph is wider than the page, its indent included."""
    assert all(len(line) <= width for line in paragraph(text, width, "  - ", "    "))


@given(text=st.text())
def test_plain_letters_are_ascii(text: str) -> None:
    """A console that shows only plain letters gets only these."""
    assert ascii_only(text).isascii()


def test_signs_of_the_trade_keep_their_meaning_in_plain_letters() -> None:
    """What has a plain spelling gets it, so that a value stays readable."""
    assert ascii_only("8.0 ± 0.1 s …") == "8.0 +/- 0.1 s ..."
    assert ascii_only("≥ 3.6 mA, t6 − t0") == ">= 3.6 mA, t6 - t0"


def test_clipped_is_cut_at_a_word() -> None:
    """Nothing is cut off within a word where there is a word's end to cut at."""
    assert clipped("pipeline sensing line of the pressure monitor", 30) == "pipeline sensing line of…"


@pytest.mark.parametrize("width", [40, 78, 118])
def test_choices_have_numbers_and_fit(width: int) -> None:
    """Every choice is there with its number, whatever the number of columns."""
    lines = numbered([f"kind number {number} of many" for number in range(1, 18)], width)
    assert all(len(line) <= width for line in lines)
    assert all(f"{number:>2} kind number {number} " in "\n".join(lines) for number in range(1, 18))


def test_hostile_text_stays_text() -> None:
    """Markup in a line is shown letter by letter; a style belongs to a piece, never to what stands in it."""
    line = fitting(((HOSTILE, "bold"), ("[/]", "")), 80, drawing=True)
    assert line.plain == f"{visible(HOSTILE)}[/]"
    assert fitting("[bold]x[/]", 80, drawing=True).plain == "[bold]x[/]"
    assert heading("[red]") == (("[red]", "bold"),)


def test_line_too_long_is_wrapped_with_its_indent() -> None:
    """A line of a report that is wider than the page goes on beneath itself."""
    assert fitting("  one two three", 10, drawing=True).plain == "  one two\n  three"

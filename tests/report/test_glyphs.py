"""Tests of commission.report.glyphs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.report.glyphs import basic, clean, is_covered


@pytest.mark.parametrize(
    ("raw", "printed"),
    [
        pytest.param("Øyvind Ærlig, 4–20 mA, ≤ 2·10³ Ω", "Øyvind Ærlig, 4–20 mA, ≤ 2·10³ Ω", id="what fonts have"),
        pytest.param("good 👍", "good [U+1F44D]", id="emoji"),
        pytest.param("阀", "[U+9600]", id="a script that the fonts lack"),
        pytest.param("a\x00b\x07", "a[U+0000]b[U+0007]", id="control characters"),
        pytest.param("a\ud800b", "a[U+D800]b", id="half of a surrogate pair"),
        pytest.param("abc\u202ecba", "abc[U+202E]cba", id="direction override"),
        pytest.param("one\r\ntwo\tthree", "one  two three", id="line breaks and tabs"),
        pytest.param("e\u0301", "é", id="accent composed"),
        pytest.param("\ue000", "[U+E000]", id="private use"),
        pytest.param("#panic() ]#.. $x$ \\", "#panic() ]#.. $x$ \\", id="markup is only text"),
    ],
)
def test_a_character_without_a_glyph_is_shown_by_its_number(raw: str, printed: str) -> None:
    """Nothing is dropped and nothing stops."""
    assert clean(raw) == printed


@given(st.text())
def test_cleaned_text_is_covered_and_stays_so(raw: str) -> None:
    """Cleaning once is enough."""
    once = clean(raw)
    assert all(is_covered(character) for character in once)
    assert clean(once) == once


@given(st.text())
def test_the_last_resort_is_printable_ascii(raw: str) -> None:
    """Any font can draw it."""
    assert all(" " <= character <= "~" for character in basic(raw))

"""Tests of commission.report.covered: the table of characters is asked of the PDF library itself."""

import itertools
import json
from datetime import UTC, datetime

import pytest
import typst

from commission.report.covered import COVERED

_PAGE = b"""#set document(title: "x")
#set text(lang: "en", font: ("Libertinus Serif",))
#for c in json(bytes(sys.inputs.d)) [ #c a ]
"""


def _compiled(characters: list[str]) -> bytes:
    return bytes(
        typst.compile(
            _PAGE,
            format="pdf",
            pdf_standards=["a-3a", "ua-1"],
            ignore_system_fonts=True,
            timestamp=datetime(2026, 11, 24, tzinfo=UTC),
            sys_inputs={"d": json.dumps(characters)},
        )
    )


def test_the_library_draws_every_character_of_the_table() -> None:
    """Each of some 7,000 characters compiles under PDF/A-3a; another version of the library shows here."""
    characters = [chr(code) for first, last in COVERED for code in range(first, last + 1)]
    assert len(characters) > 5000
    assert _compiled(characters).startswith(b"%PDF")


def test_the_library_refuses_what_is_not_in_the_table() -> None:
    """The table is needed: a character without a glyph stops a PDF/A."""
    with pytest.raises(typst.TypstError, match="could not be displayed"):
        _compiled(["\U0001f44d"])


def test_ranges_rise_and_do_not_touch() -> None:
    """The table can be searched by halving."""
    assert all(before[1] + 1 < after[0] for before, after in itertools.pairwise(COVERED))
    assert all(first <= last for first, last in COVERED)

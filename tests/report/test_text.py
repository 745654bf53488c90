"""Tests of commission.report.text."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.job import bodies
from commission.report.contents import Contents, contents
from commission.report.text import WIDTH, as_text, visible
from tests.report.jobs import DIGEST, MADE, Visit, eventful_visit, good_visit


def _contents(visit: Visit) -> Contents:
    return contents(visit.job, visit.traces, head_digest=DIGEST, events=len(visit.events), interim=True, made_utc=MADE)


def _squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("visit", [good_visit(), eventful_visit()], ids=["good", "eventful"])
def test_the_text_says_all_that_the_contents_hold(visit: Visit) -> None:
    """Every cell of every table, every line of every list."""
    found = _contents(visit)
    text = _squeezed(as_text(found))
    tables = [
        *(found.deviations, found.people, found.permits, found.energy, found.temporary, found.adjustments),
        *(found.readings, found.in_words, found.instruments),
        *(table for strokes in found.strokes for table in (strokes.judged, strokes.figures)),
    ]
    for cell in (cell for table in tables for row in table.rows for cell in row):
        assert _squeezed(cell) in text
    for line in (*found.limits, *found.verification, *found.clocks, *found.noted, *found.notices, *found.head):
        assert _squeezed(line) in text


@pytest.mark.parametrize("visit", [good_visit(), eventful_visit(), Visit()], ids=["good", "eventful", "empty"])
def test_no_line_is_wider_than_a_terminal(visit: Visit) -> None:
    """Eighty columns, always."""
    assert max(len(line) for line in as_text(_contents(visit)).splitlines()) <= WIDTH


@settings(max_examples=30)
@given(st.text(alphabet=st.characters(), max_size=300))
def test_foreign_text_neither_widens_a_line_nor_acts_on_the_terminal(found: str) -> None:
    """Escape sequences, overrides and endless words are wrapped and shown."""
    visit = Visit().add(bodies.DeviationRaised(id="D1", step="B4", required="ok", found=found))
    text = as_text(_contents(visit))
    assert all(len(line) <= WIDTH for line in text.split("\n"))
    assert "\x1b" not in text


def test_control_characters_are_shown() -> None:
    """An escape sequence pasted into a note does nothing."""
    assert visible("\x1b[31mred\u202e") == "[U+001B][31mred[U+202E]"


def test_an_empty_visit_says_that_no_stroke_was_made() -> None:
    """Nothing is never a blank."""
    assert "No stroke was made." in as_text(_contents(Visit()))

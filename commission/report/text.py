"""The report as plain text of at most 80 columns: for a screen, a terminal without graphics, or a message."""

import textwrap
import unicodedata
from collections.abc import Iterator

from commission.report.contents import Contents
from commission.report.table import Table

WIDTH = 80

_RULE = "-" * WIDTH
_LABEL = 18


def as_text(contents: Contents) -> str:
    """The whole report; each record of a table is a paragraph of its own, so that nothing is cut off."""
    lines = [*_head(contents), *_statement(contents), *_body(contents)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def visible(text: str) -> str:
    """The text with control and format characters as `[U+0007]`, so that it cannot act on a terminal."""
    return "".join(
        f"[U+{ord(character):04X}]" if unicodedata.category(character)[0] == "C" else character
        for character in text.replace("\n", " ").replace("\t", " ")
    )


def _head(contents: Contents) -> Iterator[str]:
    yield from _wrapped(" / ".join((contents.title, *contents.marks)))
    yield from _wrapped(f"record head {contents.head[0]}")
    yield contents.head[1]
    yield _RULE


def _statement(contents: Contents) -> Iterator[str]:
    outcome = contents.outcome
    yield from _wrapped(outcome.words)
    for notice in contents.notices:
        yield from _wrapped(notice)
    yield from _bullets("Against acceptance", outcome.against, "nothing")
    if contents.noted:
        yield from _bullets("Noted", contents.noted, "nothing")
    yield from _bullets("Not tested", outcome.not_tested, "nothing was left out")
    yield from _bullets("Void, not repeated", outcome.void, "none")
    yield from _bullets("Simulated only", outcome.simulated, "none")
    yield from _wrapped(f"Steps: {', '.join(outcome.counts)}")
    yield _RULE
    for label, text in (*contents.identification, ("made", contents.made)):
        yield from _labelled(label, text)


def _body(contents: Contents) -> Iterator[str]:
    for table in (contents.deviations, contents.people, contents.permits, contents.energy, contents.temporary):
        yield from _table(table)
    yield from _paragraphs("Clock", contents.clocks)
    yield from _table(contents.instruments)
    yield from _table(contents.adjustments)
    yield from _with_rows(contents.wiring, contents.point_to_point)
    for strokes in contents.strokes:
        yield from _table(strokes.judged, (strokes.expected, strokes.observed))
        yield from _table(strokes.figures)
    yield from _with_rows(contents.comparison, contents.checked)
    for loop in contents.spans:
        yield from _table(loop.judged, loop.about)
        yield from _table(loop.points)
        yield from _table(loop.figures)
    yield from _with_rows(contents.protections, contents.trips, contents.transmitter, contents.trip_proofs)
    if not contents.strokes:
        yield from _paragraphs("Strokes", ("No stroke was made.",))
    yield from _with_rows(contents.together)
    yield from _paragraphs(
        "Decision rules", tuple(f"[{number}] {rule}" for number, rule in enumerate(contents.rules, start=1))
    )
    yield from _table(contents.in_words)
    yield from _table(contents.readings)
    yield from _with_rows(contents.budgets)
    if contents.sequence.rows:
        yield from _rows_as_lines(contents.sequence)
    yield from _paragraphs("Limits of this report", contents.limits)
    yield from _paragraphs("How to check it", contents.verification)


def _with_rows(*tables: Table) -> Iterator[str]:
    """Tables that are left out where they have nothing to say."""
    for table in tables:
        if table.rows:
            yield from _table(table)


def _table(table: Table, before: tuple[str, ...] = ()) -> Iterator[str]:
    yield from _heading(table.title)
    for text in before:
        if text:
            yield from _wrapped(text)
    if not table.rows:
        yield f"  {table.empty}"
    for number, row in enumerate(table.rows):
        if number:
            yield ""
        for label, text in zip(table.columns, row, strict=True):
            if text:
                yield from _labelled(label, text)
    for note in table.notes:
        yield from _wrapped(note)


def _rows_as_lines(table: Table) -> Iterator[str]:
    """A long table of short cells, a row to a line."""
    yield from _heading(table.title)
    for row in table.rows:
        yield from _wrapped("  ".join(text for text in row if text), "  ", "      ")
    for note in table.notes:
        yield from _wrapped(note)


def _heading(title: str) -> Iterator[str]:
    yield ""
    yield from _wrapped(title.upper())


def _paragraphs(title: str, texts: tuple[str, ...]) -> Iterator[str]:
    if texts:
        yield from _heading(title)
    for text in texts:
        yield from _wrapped(text)


def _bullets(label: str, items: tuple[str, ...], none_text: str) -> Iterator[str]:
    if not items:
        yield from _wrapped(f"{label}: {none_text}")
        return
    yield f"{label}:"
    for item in items:
        yield from _wrapped(item, "  - ", "    ")


def _labelled(label: str, text: str) -> Iterator[str]:
    margin = " " * (_LABEL + 2)
    named = visible(label)
    if len(named) < _LABEL:
        yield from _wrapped(text, f"  {named:<{_LABEL}}", margin)
    else:
        yield from _wrapped(f"{named}: {text}", "  ", margin)


def _wrapped(text: str, first: str = "", later: str = "") -> list[str]:
    return textwrap.wrap(visible(text), WIDTH, initial_indent=first, subsequent_indent=later) or [first.rstrip()]

"""Tests of commission.report.pdf: the pages are read back by pypdf, an independent reader."""

import io
import subprocess
import sys
from pathlib import Path

import msgspec
import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from commission.job import bodies
from commission.report import glyphs, pdf
from commission.report.contents import Contents, contents
from commission.report.export import as_json
from commission.report.pdf import ReportError, make_pdf
from tests.report.jobs import CHECKLIST, DIGEST, MADE, Visit, eventful_visit, good_visit


def _contents(visit: Visit, *, interim: bool = False) -> Contents:
    return contents(
        visit.job, visit.traces, head_digest=DIGEST, events=len(visit.events), interim=interim, made_utc=MADE
    )


def _squeezed(text: str) -> str:
    return "".join(text.split())


def _pages(made: bytes) -> list[str]:
    return [_squeezed(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(made)).pages]


@pytest.mark.parametrize("visit", [good_visit(), eventful_visit()], ids=["good", "eventful"])
def test_every_figure_of_the_contents_stands_on_the_pages(visit: Visit) -> None:
    """What pypdf reads out of the PDF holds each cell of each table of runs, digit by digit."""
    found = _contents(visit)
    text = "".join(_pages(make_pdf(found, b"{}")))
    for strokes in found.strokes:
        for cell in (cell for table in (strokes.judged, strokes.brief) for row in table.rows for cell in row):
            assert _squeezed(cell) in text
    for table in (
        *(found.deviations, found.people, found.permits, found.energy, found.temporary, found.instruments),
        *(found.readings, found.in_words),
    ):
        for cell in (cell for row in table.rows for cell in row):
            assert _squeezed(cell) in text
    assert _squeezed(found.outcome.words) in text
    for line in (*found.limits, *found.verification, *found.clocks, *found.outcome.against, *found.noted):
        assert _squeezed(line) in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_normal_visit_is_two_pages(paper: pdf.Paper) -> None:
    """Page one for who checks only page one, page two for the strokes."""
    made = make_pdf(_contents(good_visit()), b"{}", paper)
    pages = pypdf.PdfReader(io.BytesIO(made)).pages
    assert len(pages) == 2
    width_mm = round(float(pages[0].mediabox.width) * 25.4 / 72)
    assert width_mm == {"a4": 210, "letter": 216}[paper]


def _with_readings(count: int) -> Visit:
    """A whole visit with so many readings beside limits, and two thirds as many in words."""
    numbers = "".join(
        f'    {{ id = "n{i}", ask = "Reading number {i} of the unit", kind = "number", unit = "bar", most = "9",'
        f' origin = "common practice {i % 12}, no source" }},\n'
        for i in range(count)
    )
    words = "".join(
        f'    {{ id = "w{i}", ask = "Seen at place {i}", kind = "choice", choices = ["its fail position"] }},\n'
        for i in range(count * 2 // 3)
    )
    step = '[[steps]]\nid = "N2"\ntitle = "Read"\nstate = "any"\ndo = "Read."\ncautions = ["pinch"]\n'
    visit = Visit(checklist=f"{CHECKLIST}\n{step}questions = [\n{numbers}{words}]\n")
    answers = {f"n{i}": "1.0 bar" for i in range(count)} | {f"w{i}": "its fail position" for i in range(count * 2 // 3)}
    return good_visit(visit).step("N2", **answers)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_forty_readings_leave_a_visit_at_two_pages(paper: pdf.Paper) -> None:
    """As many as a commissioning has: short rows, two side by side, each of them on a page; appendices come after."""
    found = _contents(_with_readings(24))
    found = msgspec.structs.replace(found, sequence=msgspec.structs.replace(found.sequence, rows=(), notes=()))
    pages = _pages(make_pdf(found, b"{}", paper))
    assert len(pages) == 2
    for table in (found.readings, found.in_words):
        assert all(_squeezed(cell) in "".join(pages) for row in table.rows for cell in row)


def test_digest_and_code_stand_on_each_page() -> None:
    """A page torn out still names its record."""
    found = _contents(good_visit())
    for page in _pages(make_pdf(found, b"{}")):
        assert DIGEST in page
        assert found.head[0] in page


def test_practice_and_draft_stand_on_each_page() -> None:
    """In the header as a word and across the page; on a real, finished visit nowhere."""
    for page in _pages(make_pdf(_contents(eventful_visit(), interim=True), b"{}")):
        assert page.count("PRACTICE") >= 2
        assert "DRAFT" in page
    for page in _pages(make_pdf(_contents(good_visit()), b"{}")):
        assert "PRACTICE" not in page
        assert "DRAFT" not in page


def test_page_one_carries_the_statement_and_what_was_not_tested() -> None:
    """Verdict, deviations and what was left out are never on page two."""
    page = _pages(make_pdf(_contents(eventful_visit()), b"{}"))[0]
    for words in (
        "NOT ACCEPTED",
        "not a safety system",
        "N1 Prove low fluid: no oil to spare",
        "EH-40171 on the plate",
        "STILL ON",
    ):
        assert _squeezed(words) in page


def test_the_facts_are_attached_and_agree_with_the_pages() -> None:
    """The attachment read out by pypdf is the exported job, byte for byte."""
    visit = good_visit()
    facts = msgspec.json.encode(as_json(visit.job))
    reader = pypdf.PdfReader(io.BytesIO(make_pdf(_contents(visit), facts)))
    assert reader.attachments["record.json"] == [facts]
    assert msgspec.json.decode(facts)["results"][3]["value"] == "8.052"


def test_it_is_an_archive_file_with_tags() -> None:
    """The file claims PDF/A-3a and PDF/UA-1 (ISO 19005-3, ISO 14289-1), and has a language and tags."""
    made = make_pdf(_contents(good_visit()), b"{}")
    reader = pypdf.PdfReader(io.BytesIO(made))
    catalog = reader.root_object
    metadata = reader.stream.getvalue().decode("latin-1") if isinstance(reader.stream, io.BytesIO) else ""
    assert "<pdfaid:part>3</pdfaid:part>" in metadata
    assert "<pdfuaid:part>1</pdfuaid:part>" in metadata
    assert str(catalog["/Lang"]) == "en"
    assert "/StructTreeRoot" in catalog


def test_same_contents_same_bytes() -> None:
    """Twice in one process."""
    found = _contents(eventful_visit())
    assert make_pdf(found, b"{}") == make_pdf(found, b"{}")


_ROOT = Path(__file__).parents[2]
_SCRIPT = """
import hashlib
from tests.report.jobs import CHECKLIST, DIGEST, MADE, eventful_visit
from commission.report.contents import contents
from commission.report.pdf import make_pdf
visit = eventful_visit()
found = contents(visit.job, visit.traces, head_digest=DIGEST, events=9, interim=False, made_utc=MADE)
print(hashlib.sha256(make_pdf(found, b"{}")).hexdigest())
"""


def test_same_bytes_in_two_processes() -> None:
    """Nothing of the process, its hash seed among it, gets into the file."""
    digests = {
        subprocess.run(
            [sys.executable, "-c", _SCRIPT],
            cwd=_ROOT,
            capture_output=True,
            check=True,
            text=True,
            env={"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


_HOSTILE = [
    "#panic()",
    '#read("/etc/passwd")',
    "]#..[",
    "$x$",
    "\\",
    "\u202e reversed",
    "e\u0301\u0316\u0327" * 3,
    "x" * 20_000,
    "\x00\x07\x1b[31m",
    "\ud800",
    "👍🏽 阀门 \ue000",
    "عربي עברית",
    "",
]


def _with_note(text: str) -> Contents:
    visit = Visit().people()
    visit.add(
        bodies.DeviationRaised(id="D1", step="B4", required="ok", found=text, risk=text),
        bodies.TemporaryAdded(id="T1", kind="setting", what=text, where=text, why=text),
    )
    return _contents(visit, interim=True)


@pytest.mark.parametrize("text", _HOSTILE, ids=range(len(_HOSTILE)))
def test_a_hostile_text_never_stops_the_report(text: str) -> None:
    """Markup is inert, and what cannot be drawn is shown by its number."""
    squeezed = "".join(_pages(make_pdf(_with_note(text), b"{}")))
    if text.isascii() and text.isprintable() and len(text) < 100:
        assert _squeezed(text) in squeezed


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=60))
def test_no_text_stops_the_report(text: str) -> None:
    """Whatever somebody types or a unit says, there is a report."""
    assert make_pdf(_with_note(text), b"{}").startswith(b"%PDF")


def test_a_wrong_promise_of_the_glyph_table_falls_back_to_ascii(monkeypatch: pytest.MonkeyPatch) -> None:
    """If the table of covered characters were wrong, the report is still made, with numbers instead."""
    monkeypatch.setattr(glyphs, "is_covered", lambda _character: True)
    pages = "".join(_pages(make_pdf(_with_note("good 👍"), b"{}")))
    assert "good[U+1F44D]" in pages


def test_long_contents_take_more_pages() -> None:
    """Sixty deviations run on; each page keeps header and digest."""
    visit = Visit().people().connect(practice_speed=2.0)
    for number in range(60):
        visit.add(bodies.DeviationRaised(id=f"D{number}", step="B4", required="as drawn", found="not as drawn " * 8))
    pages = _pages(make_pdf(_contents(visit, interim=True), b"{}"))
    assert len(pages) > 2
    assert all(DIGEST in page and "PRACTICE" in page for page in pages)


def test_what_cannot_be_attached_or_printed_on_is_refused_in_words() -> None:
    """A wrong paper and an attachment that is not text are named."""
    found = _contents(Visit())
    with pytest.raises(ReportError, match="paper is one of a4, letter, not 'a5'"):
        make_pdf(found, b"{}", "a5")  # type: ignore[arg-type]  # what a person typed
    with pytest.raises(ReportError, match="not UTF-8: byte 0"):
        make_pdf(found, b"\xff")

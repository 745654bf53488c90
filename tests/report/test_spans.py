"""A loop in the report: as found beside as left, every verdict, what was not tested, on pages that are read back."""

import io

import pypdf

from commission.procedures.span_plan import SPAN
from commission.report.contents import contents
from commission.report.export import as_json
from commission.report.pdf import make_pdf
from commission.report.spans import Spans, by_signal, is_span, noted, spans
from commission.report.strokes import DIRECTIONS, direction_of, rules_of
from commission.report.text import as_text
from tests.analysis.spans import observed
from tests.report.jobs import DIGEST, MADE, Visit, good_visit
from tests.report.loops import NOT_TESTED, adjusted_visit, planted, read_loop, trimmed


def _loops(visit: Visit) -> tuple[Spans, ...]:
    return spans(visit.job, rules_of(visit.job))


def test_as_found_stands_beside_as_left() -> None:
    """Point by point, up and down, with stem, current and error of each."""
    (loop,) = _loops(adjusted_visit())
    assert loop.points.columns == (
        "point", "stem, as found", "current, as found", "error, as found",
        "stem, as left", "current, as left", "error, as left",
    )  # fmt: skip
    assert [row[0] for row in loop.points.rows] == [
        "0 % up", "25 % up", "50 % up", "75 % up", "100 % up",
        "100 % down", "75 % down", "50 % down", "25 % down", "0 % down",
    ]  # fmt: skip
    row = loop.points.rows[4]
    assert row[2].startswith("19.760 ± 0.021 mA")
    assert row[3].startswith("-1.50 ± 0.1")
    assert row[6].startswith("-0.12 ± 0.1") or row[6].startswith("-0.13 ± 0.1")


def test_every_run_has_its_verdict_with_limit_and_words() -> None:
    """The failure stays in sight after it was put right, with what was wrong."""
    (loop,) = _loops(adjusted_visit())
    found, left = loop.judged.rows
    assert found[3:5] == ("-1 to 1 %", "fail [1]")
    assert "zero +0.4" in found[5]
    assert "are both off" in found[5]
    assert left[4] == "pass [1]"
    assert "common practice" in left[5]


def test_page_one_is_told_what_failed_as_found_and_what_was_not_tested() -> None:
    """Each once, with its reason."""
    lines = noted(adjusted_visit().job)
    assert lines[0] == f"feedback: {NOT_TESTED}"
    assert lines[1].startswith("as-found failure, feedback: -1.50 ± 0.1")
    assert len(lines) == 2


def test_one_run_is_as_found_and_as_left() -> None:
    """Nothing was adjusted in between."""
    visit = read_loop(Visit().people(), "s1", trimmed())
    (loop,) = _loops(visit)
    assert loop.points.columns[1] == "stem, as found and left"
    assert loop.svg.startswith("<svg")
    assert noted(visit.job) == ()


def test_a_cycle_that_read_nothing_is_still_listed() -> None:
    """With empty tables and no plot."""
    visit = read_loop(Visit().people(), "s1", trimmed())
    unread = Visit().people()
    unread.job = visit.job
    (loop,) = _loops(unread)
    assert loop.figures.rows
    one = read_loop(Visit().people(), "s1", observed(lambda point, _up, _cycle: 4 + 0.16 * point, points=(50.0,)))
    (single,) = _loops(one)
    assert [row[0] for row in single.points.rows] == ["50 % up"]


def test_runs_of_a_loop_are_no_strokes() -> None:
    """They stand under their own heading, whatever they may command."""
    job = adjusted_visit().job
    assert all(is_span(run) and direction_of(run) == SPAN for run in job.runs.values())
    assert SPAN not in DIRECTIONS
    found = contents(job, {}, head_digest=DIGEST, events=1, interim=True, made_utc=MADE)
    assert found.strokes == ()


def test_feedback_and_command_are_two_loops() -> None:
    """Each with its own heading."""
    visit = read_loop(Visit().people(), "s1", planted())
    read_loop(visit, "s2", planted(), signal="command")
    assert list(by_signal(visit.job)) == ["feedback", "command"]
    assert [loop.heading.split(",")[0] for loop in _loops(visit)] == ["Feedback", "Command"]


def test_the_pages_hold_every_cell() -> None:
    """Read back by another program; the same in plain text."""
    visit = adjusted_visit()
    found = contents(visit.job, {}, head_digest=DIGEST, events=9, interim=True, made_utc=MADE)
    made = make_pdf(found, b"{}")
    pages = "".join("".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(made)).pages)
    printed = as_text(found)
    for loop in found.spans:
        for table in (loop.judged, loop.points, loop.figures):
            assert table.rows
            for cell in (cell for row in table.rows for cell in row):
                assert "".join(cell.split()) in pages, cell
                assert " ".join(cell.split()) in " ".join(printed.split()), cell
        for sentence in loop.about:
            assert "".join(sentence.split()) in pages


def test_the_export_holds_every_figure() -> None:
    """Points, characteristics and verdicts, as stored."""
    data = as_json(adjusted_visit().job)
    names = {figure["name"] for figure in data["runs"]["s1"]["figures"]}
    assert {"largest_error", "error_down_25_pct", "hysteresis", "loop_trim_open", "linearity_independent"} <= names
    assert [row["verdict"] for row in data["results"]] == ["fail", "pass"]
    assert data["results"][0]["value"] == "-1.50"


def test_a_visit_without_a_loop_has_no_section() -> None:
    """And nothing about one on page one."""
    job = good_visit().job
    assert spans(job, rules_of(job)) == ()
    assert noted(job) == ()

"""The points of a loop as lines: every reading in its row, within the columns of the smallest screen."""

from commission.face.span_table import is_of_a_point, span_table
from commission.face.wording import run_lines
from tests.analysis.spans import observed
from tests.report.jobs import Visit, good_visit
from tests.report.loops import adjusted_visit, planted, read_loop


def test_a_row_for_each_point() -> None:
    """Up and down, with stem, current and error."""
    lines = span_table(adjusted_visit().job.runs["s1"])
    assert lines[0].split() == ["Point", "stem", "current", "error", "of", "span"]
    assert len(lines) == 11
    assert lines[5].split()[:11] == ["100", "%", "up", "100.000", "±", "0.053", "%", "19.760", "±", "0.021", "mA"]
    assert lines[5].split()[-4] == "-1.50"
    assert lines[6].startswith("  100 % down")


def test_it_fits_the_smallest_screen() -> None:
    """Also with several cycles, points that are not whole and long numbers."""
    seen = observed(
        lambda point, _up, _cycle: 4 + 0.16 * point, up_down=(True, False), cycles=3, points=(0.0, 33.3333, 100.0)
    )
    lines = span_table(read_loop(Visit().people(), "s1", seen).job.runs["s1"])
    assert len(lines) == 1 + 2 * 3 * 3
    assert max(len(line) for line in lines) <= 77


def test_a_stroke_has_none() -> None:
    """And none of its figures is taken for a point's."""
    run = next(iter(good_visit().job.runs.values()))
    assert span_table(run) == []
    assert not any(is_of_a_point(figure.name) for figure in run.figures)


def test_the_typed_face_shows_the_table_under_the_verdict() -> None:
    """The largest error with its limits in percent, what was recognised, then the points."""
    lines = run_lines(read_loop(Visit().people(), "s1", planted()).job.runs["s1"])
    text = " ".join(" ".join(lines).split())
    assert "-1.50 ± 0.1" in text
    assert "fail (-1 to 1 %" in text
    assert "zero +0.4" in text
    assert max(len(line) for line in lines) <= 80
    assert lines[-1].startswith("  0 % down")

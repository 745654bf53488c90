"""Tests of commission.report.figures."""

import msgspec

from commission.engineering.beside import beside_stroke
from commission.figure import make_figure
from commission.job import bodies
from commission.job.motions import Run
from commission.report.figures import all_figures, brief_figures, run_name
from commission.report.strokes import CLOSING, by_direction
from commission.sheet import End
from tests.report.jobs import Visit, good_visit


def _closing(visit: Visit) -> tuple[Run, ...]:
    return by_direction(visit.job)[CLOSING]


def test_figures_without_a_limit_have_a_table_of_their_own() -> None:
    """Dead time and pressures stand side by side for all runs, in the units of the trade."""
    table = all_figures("closing", _closing(good_visit()))
    assert table.columns == ("figure", "r4 K1 closed", "r5 K1 closed", "r6 K1 closed")
    assert ("largest pressure", "105.00 ± 0.42 bar", "105.00 ± 0.42 bar", "105.00 ± 0.42 bar") in table.rows
    (note,) = table.notes
    assert note.startswith("Pressure at first motion, largest pressure, final travel: scatter and last digit only;")


def test_a_run_whose_id_says_its_test_is_named_once() -> None:
    """`K1-open-1` of test `K1 open 1` is one name; any other id stands before its test."""
    run = Visit().people().connect().cross("in operation", "live").begin("K1-open-1", "open").job.runs["K1-open-1"]
    named = msgspec.structs.replace(run, begun=msgspec.structs.replace(run.begun, test="K1 open 1"))
    assert run_name(named) == "K1 open 1"
    assert run_name(run) == "K1-open-1 K1 open"


def test_pages_leave_out_the_tenths_and_files_keep_them() -> None:
    """Dead time is printed; the crossings of travel stand in text, CSV and JSON."""
    visit = Visit().people().connect().cross("in operation", "live").stroke("r1", "closed", 8.0)
    crossing = make_figure("travel_10_pct_time", 1.0, 0.1, "s", "timing.stroke/2")
    figures = (*visit.job.runs["r1"].figures, crossing)
    visit.add(bodies.FiguresComputed(run="r1", figures=figures, timed_by="samples", commanded_by="laptop"))
    brief = brief_figures("closing", _closing(visit))
    assert "time to 10 % travel" in [row[0] for row in all_figures("closing", _closing(visit)).rows]
    assert "time to 10 % travel" not in [row[0] for row in brief.rows]
    assert "dead time" in [row[0] for row in brief.rows]


def test_a_note_is_said_once_with_the_figures_it_is_true_of() -> None:
    """Notes in parts: each part with its own figures, parts of the same figures together."""
    visit = Visit().people().connect().cross("in operation", "live").stroke("r1", "closed", 8.0)
    method = "extremes.stroke/2"
    figures = (
        make_figure("pressure_max", 1e7, 1e4, "Pa", method, note="largest reading; last digit only"),
        make_figure("final_travel", 0.0, 1e-3, "1", method, note="last digit only"),
    )
    visit.add(bodies.FiguresComputed(run="r1", figures=figures, timed_by="samples", commanded_by="laptop"))
    assert all_figures("closing", _closing(visit)).notes == (
        "Largest pressure: largest reading.",
        "Largest pressure, final travel: last digit only.",
    )


def test_what_the_sheet_computes_stands_before_the_runs() -> None:
    """A column of its own where the sheet says anything of any figure; none where it says nothing."""
    runs = _closing(good_visit())
    beside = beside_stroke(good_visit().job.sheet, End.CLOSED)
    table = all_figures("closing", runs, beside)
    assert table.columns[:2] == ("figure", "computed")
    computed = {row[0]: row[1] for row in table.rows}
    assert computed["pressure at first motion"] == "53.5 bar"
    assert computed["largest pressure"] == "none"
    assert all(len(row) == len(table.columns) for row in table.rows)
    assert all_figures("closing", runs, {}).columns[1] == "r4 K1 closed"
    assert len(brief_figures("closing", runs, beside).columns) in (len(table.columns), len(table.columns) - 1)

"""Tests of strokes taken together and of budgets, as the report shows them."""

import msgspec

from commission.analysis.budget import Budget, normal, rectangular
from commission.analysis.supply_trace import insulation_at_40
from commission.figure import Verdict
from commission.job import bodies
from commission.job.series import compare
from commission.report.series import budgets, together
from tests.report.jobs import Visit, good_visit


def compared(visit: Visit) -> Visit:
    """The visit with its strokes compared, as the walk does when K1 is concluded."""
    series = compare("K1", tuple(visit.job.runs.values()), visit.job.sheet)
    assert series is not None
    return visit.add(series)


def test_how_strokes_repeat_stands_with_limit_verdict_and_runs() -> None:
    """In per cent, as it was judged; runs are named once."""
    table = together(compared(good_visit()).job)
    first = dict(zip(table.columns, table.rows[0], strict=True))
    assert first["figure"] == "repeatability opening"
    assert first["measured (95 %)"].endswith(" %")
    assert (first["limit"], first["verdict"]) == ("at most 5 %", "pass")
    assert first["from runs"].startswith("r1 K1 open, r2 K1 open")
    ratio = dict(zip(table.columns, table.rows[2], strict=True))
    assert (ratio["figure"], ratio["verdict"]) == ("opening time over closing time", "not judged")
    assert "%" not in ratio["measured (95 %)"]
    assert any("common practice, no source" in note for note in table.notes)


def test_what_was_made_void_since_says_so() -> None:
    """An adjustment after it voids the comparison with its runs."""
    visit = compared(good_visit())
    touched = next(name for name, rule in visit.job.checklist.voids.items() if "K1" in rule.voids)
    visit.add(bodies.Adjusted(touched=touched, detail="turned a quarter"))
    table = together(visit.job)
    assert all(row[table.columns.index("verdict")].startswith("void, repeat") for row in table.rows)


def test_without_strokes_nothing_is_compared() -> None:
    """The table says so and has no row."""
    table = together(Visit().job)
    assert (table.rows, table.empty) == ((), "nothing was compared")
    assert budgets(Visit().job).rows == ()


def test_budgets_are_printed_line_by_line() -> None:
    """Judged figures of each run, loads of the last, and what was compared; the rest stays in the record."""
    visit = good_visit()
    lines = (rectangular("end: time between two readings", 0.05), normal("end: noise of travel", 0.01))
    judged = Budget(lines).figure("response_time", 8.0, "s", "timing.stroke/2")
    load = Budget((rectangular("transmitter, 0.5 % of 0 to 160 bar", 8e4),)).figure(
        "breakaway_pressure", 53e5, "Pa", "loads.stroke/1"
    )
    other = msgspec.structs.replace(judged, name="dead_time")
    for run in ("r5", "r6"):
        figures = (judged, load, other)
        visit.add(bodies.FiguresComputed(run=run, figures=figures, timed_by="samples", commanded_by="laptop"))
    table = budgets(compared(visit).job)
    headings = [row[0] for row in table.rows if row[0] != "as above"]
    assert headings[:3] == [
        "response time, r5 K1 closed: 8.000 s, U 0.054 s",
        "response time, r6 K1 closed: 8.000 s, U 0.054 s",
        "breakaway pressure, r6 K1 closed: 5300000 Pa, U 76000 Pa",
    ]
    assert any(heading.startswith("repeatability closing, K1") for heading in headings)
    first = dict(zip(table.columns, table.rows[0], strict=True))
    assert first["line"] == "end: time between two readings"
    assert first["distribution"] == "rectangular"
    assert (first["half-width or u"], first["u"], first["degrees of freedom"]) == ("0.05", "0.02887", "infinite")
    assert "JCGM 100:2008" in table.notes[0]


def test_a_verdict_that_is_open_says_what_would_settle_it() -> None:
    """Beside the verdict."""
    visit = good_visit()
    series = compare("K1", tuple(visit.job.runs.values()), visit.job.sheet)
    assert series is not None
    open_ = msgspec.structs.replace(series.results[0], verdict=Verdict.NOT_DECIDED, settles="one more stroke")
    visit.add(msgspec.structs.replace(series, results=(open_,)))
    assert together(visit.job).rows[0][4] == "not decided; would settle it: one more stroke"


def test_a_figure_from_answers_says_what_it_was_computed_from() -> None:
    """Insulation at 40 °C, in megaohms, with its limit."""
    figure = insulation_at_40(240e6, 18.0)
    series = bodies.SeriesCompared(
        step="F3", runs=(), figures=(figure,), results=(), answers={"insulation": "240000000", "winding": "18"}
    )
    table = together(msgspec.structs.replace(good_visit().job, compared=(series,)))
    assert "computed from answers" in table.title
    row = table.rows[0]
    assert row[0] == "F3"
    assert row[1] == "insulation at 40 °C"
    assert row[2].endswith("megaohm")
    assert row[2].startswith("52")
    assert row[-1] == "insulation 240000000, winding 18"

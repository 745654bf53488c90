"""The partial stroke in the report: limitation, watch, baseline, comparison, checks."""

import io
import re

import msgspec
import pypdf

from commission.analysis.baseline import compare
from commission.figure import Verdict
from commission.job.bodies import FiguresComputed, MotionBegun, MotionEnded, Noted, ResultDecided
from commission.practice.condition import Condition
from commission.procedures.partial_told import Told, as_arguments
from commission.report.contents import contents
from commission.report.partial import checked, comparison, noted_partial, partial_runs
from commission.report.pdf import make_pdf
from commission.sample import ReadPlan
from tests.analysis.partials import baseline, figures
from tests.job.test_history import earlier, first
from tests.walk.visits import Visit

STIFF = figures(Condition(friction_factor=1.45), seed=9)


def with_run(verdict: str = Verdict.PASS_WATCH, *, rested: bool = False) -> Visit:
    """A re-test with one partial stroke of a stiff valve, judged."""
    visit = Visit()
    kept = msgspec.structs.replace(first(), baseline=baseline(rested))
    visit.record(earlier(kept))
    told = Told(test="L4 1", rest_h=0.2, baseline=kept.baseline)
    visit.record(
        MotionBegun(
            run="L4-1",
            step="L4",
            procedure="partial_stroke",
            arguments=as_arguments(told),
            test="L4 1",
            commands={"command_partial_stroke": 1},
            safe_end="return",
            guards=(),
            plan=ReadPlan(unit_id=11, blocks=()),
            as_found=True,
        )
    )
    for mark in ("supply: 24.4 V, 20.4 to 28.8 V", "oil: 20.0 °C, -40 to 45 °C", "moving"):
        visit.record(Noted(run="L4-1", mark=mark))
    visit.record(MotionEnded(run="L4-1", how="finished", reason="", safe_end="not needed"))
    found = tuple(STIFF.values())
    visit.record(FiguresComputed(run="L4-1", figures=found, timed_by="samples", commanded_by="laptop"))
    visit.record(
        ResultDecided(
            run="L4-1",
            step="L4",
            test="L4 1",
            figure="time_to_target",
            verdict=verdict,
            rule="guarded",
            limit_low="5",
            limit_high="15",
            origin="sheet",
            settles="breakaway pressure 48.2 bar, was 53.5 bar",
            compared=compare(found, kept.baseline, 0.2),
        )
    )
    return visit


def test_page_one_says_what_the_path_leaves_untested() -> None:
    """In the words of the sheet."""
    lines = noted_partial(with_run().job)
    assert lines[0] == (
        "limitation: the partial stroke's path (separate 1.2 mm bleed) does not use the trip solenoid,"
        " and leaves it untested"
    )


def test_page_one_says_what_is_to_be_watched_and_what_the_baseline_lacks() -> None:
    """A pass that is watched is not lost among the passes."""
    lines = noted_partial(with_run().job)
    assert lines[1] == "watch, partial stroke L4 1: breakaway pressure 48.2 bar, was 53.5 bar"
    assert lines[2].startswith("baseline B1: 3 partial strokes of 2025-11-24, signed by Piet Exampler, taken over from")
    assert lines[2].endswith("it has no run after at least 12 h at rest")
    assert not noted_partial(with_run(rested=True).job)[2].endswith("at rest")


def test_nothing_is_noted_of_a_job_without_one() -> None:
    """No limitation of what was not done."""
    assert noted_partial(Visit().job) == ()
    assert partial_runs(Visit().job) == ()


def test_each_figure_stands_beside_its_baseline() -> None:
    """Now, then, the change, the band and the verdict, in the trade's units."""
    table = comparison(with_run().job)
    assert table.title == "Partial stroke L4 1 against its baseline"
    rows = {row[0]: row for row in table.rows}
    _name, now, was, corrected, change, band, verdict = rows["breakaway pressure"]
    assert corrected == "nothing"
    assert now.startswith("48.")
    assert now.endswith("bar")
    assert was.startswith("53.")
    assert change.startswith(("-9.", "-10."))
    assert re.fullmatch(r"48\.\d\d? to 58\.\d\d? bar", band), "no more places than the figure is known to"
    assert verdict == "pass, watch: outside the baseline band"
    assert rows["friction, as pressure"][5:] == ("for information", "not judged")
    assert rows["speed"][1].endswith("%/s")
    assert any("Hours at rest before it: 0.2" in note for note in table.notes)


def test_nothing_to_compare_is_said() -> None:
    """Rather than an empty table."""
    assert comparison(Visit().job).empty == "not compared"
    assert checked(Visit().job).empty == "none made"


def test_what_was_checked_stands_with_its_reading() -> None:
    """Not the notes of its progress."""
    assert checked(with_run().job).rows == (("supply", "24.4 V, 20.4 to 28.8 V"), ("oil", "20.0 °C, -40 to 45 °C"))


def test_what_the_baseline_was_corrected_by_is_printed() -> None:
    """Beside each figure, with from what to what, and how unsure that is."""
    visit = with_run()
    compared = tuple(
        msgspec.structs.replace(row, corrected="-0.81", conditions="oil 4.0 to 20.5 °C, supply 24.4 to 24.3 V")
        if row.figure == "return_time"
        else row
        for row in visit.job.runs["L4-1"].results[0].compared
    )
    (result,) = visit.job.runs["L4-1"].results
    run = msgspec.structs.replace(visit.job.runs["L4-1"], results=(msgspec.structs.replace(result, compared=compared),))
    table = comparison(msgspec.structs.replace(visit.job, runs={"L4-1": run}))
    assert {row[0]: row[3] for row in table.rows}["return time"].startswith("-0.8")
    assert any(note.startswith("Corrected from the baseline's oil 4.0 to 20.5 °C") for note in table.notes)


def test_on_the_page_each_figure_stands_in_one_row() -> None:
    """As many widths as columns, or the cells run on into the next row; read back as it is laid out."""
    job = with_run().job
    found = contents(job, {}, head_digest="ab" * 32, events=9, interim=True, made_utc="2026-05-12T16:20:00Z")
    pages = pypdf.PdfReader(io.BytesIO(make_pdf(found, b"{}"))).pages
    lines = [line for page in pages for line in page.extract_text(extraction_mode="layout").splitlines()]
    assert any("breakaway pressure" in line and "pass, watch: outside the baseline band" in line for line in lines)
    assert any("figure" in line and "corrected by" in line and "verdict" in line for line in lines)

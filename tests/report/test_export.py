"""Tests of commission.report.export."""

import csv
from pathlib import Path

import msgspec
import pytest

from commission.job import bodies
from commission.report.contents import contents
from commission.report.export import as_csv, as_json
from tests.report.jobs import DIGEST, MADE, Visit, eventful_visit, good_visit


def _read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("visit", [good_visit(), eventful_visit()], ids=["good", "eventful"])
def test_csv_json_and_report_carry_the_same_figures(visit: Visit, tmp_path: Path) -> None:
    """Value, uncertainty, unit and verdict of each judged run are equal in all three."""
    as_csv(visit.job, visit.traces, tmp_path)
    rows = {row["run"]: row for row in _read(tmp_path / "results.csv")}
    facts = {row["run"]: row for row in as_json(visit.job)["results"]}
    assert rows.keys() == facts.keys()
    found = contents(visit.job, visit.traces, head_digest=DIGEST, events=1, interim=True, made_utc=MADE)
    tables = [strokes.judged for strokes in found.strokes]
    printed = {row[0].split()[0]: dict(zip(table.columns, row, strict=True)) for table in tables for row in table.rows}
    for run, row in rows.items():
        text = f"{row['value']} ± {row['expanded_uncertainty_95pct']} {row['unit']}"
        assert text == printed[run]["measured (95 %)"]
        assert row["verdict"] in printed[run]["verdict"]
        for name in ("value", "expanded_uncertainty_95pct", "unit", "verdict", "limit_low", "limit_high"):
            assert row[name] == facts[run][name]


def test_json_is_one_object_that_encodes_and_holds_the_texts() -> None:
    """Everything folded: runs, energy, people, and the full texts that the job was done by."""
    visit = good_visit()
    data = msgspec.json.decode(msgspec.json.encode(as_json(visit.job, visit.traces)))
    assert data["format"] == 1
    assert data["tag"] == "XV-1101"
    assert data["opened"]["checklist"][0]["text"] == visit.job.opened.checklist[0].text
    assert len(data["runs"]) == 6
    assert data["runs"]["r4"]["figures"][0]["value"] == "8.052"
    assert len(data["traces"]["r1"]["travel"]) == len(visit.traces["r1"].travel)
    assert data["energy_log"]["now"]["state"] == "in operation"


def test_practice_is_in_the_export() -> None:
    """Safety rule R15: for good, in every form."""
    assert as_json(eventful_visit().job)["practice"] is True
    assert as_json(good_visit().job)["practice"] is False


def test_every_file_is_written_with_units_in_its_head(tmp_path: Path) -> None:
    """Five tables and a trace a run; a trace says seconds, percent, bar and ampere."""
    visit = good_visit()
    written = {path.name for path in as_csv(visit.job, visit.traces, tmp_path)}
    assert written == {path.name for path in tmp_path.iterdir()}
    assert {"results.csv", "strokes.csv", "energy.csv", "answers.csv", "deviations.csv", "trace_r1.csv"} <= written
    first = (tmp_path / "trace_r4.csv").read_text(encoding="utf-8").splitlines()[0]
    assert first == "time_s,travel_pct,pressure_bar,motor_current_A"


def test_a_trace_is_exported_whole(tmp_path: Path) -> None:
    """Every sample, converted and not thinned; a point that was not read is empty."""
    visit = good_visit()
    as_csv(visit.job, visit.traces, tmp_path)
    trace = visit.traces["r4"]
    rows = _read(tmp_path / "trace_r4.csv")
    assert [float(row["time_s"]) for row in rows] == list(trace.time_s)
    assert [float(row["pressure_bar"]) for row in rows] == pytest.approx([value / 1e5 for value in trace.pressure_pa])
    assert {row["motor_current_A"] for row in rows} == {""}


def test_strokes_hold_every_run_also_without_a_figure(tmp_path: Path) -> None:
    """An interrupted run has its row."""
    visit = eventful_visit()
    as_csv(visit.job, visit.traces, tmp_path)
    rows = _read(tmp_path / "strokes.csv")
    interrupted = [row for row in rows if row["run"] == "r3"]
    assert [(row["ended"], row["figure"]) for row in interrupted] == [("interrupted", "")]
    assert {row["as_found"] for row in rows if row["run"] == "r1"} == {"yes"}
    assert any(row["void_because"] for row in rows if row["run"] == "r1")


def test_energy_answers_and_deviations_are_complete(tmp_path: Path) -> None:
    """One row a crossing, an answer, a deviation."""
    visit = eventful_visit()
    as_csv(visit.job, visit.traces, tmp_path)
    assert len(_read(tmp_path / "energy.csv")) == len(visit.job.energy_log.crossed)
    answers = _read(tmp_path / "answers.csv")
    assert ("B4", "1", "serial", "EH-40171") in {
        (row["step"], row["attempt"], row["question"], row["text"]) for row in answers
    }
    assert _read(tmp_path / "deviations.csv")[0]["found"] == "EH-40171 on the plate"


def test_text_is_never_a_formula(tmp_path: Path) -> None:
    """A note that a spreadsheet would run gets an apostrophe; a negative number stays a number."""
    visit = Visit().add(
        bodies.DeviationRaised(id="D1", step="B4", required="-0.12", found="=HYPERLINK(1)", risk="half \ud800 pair")
    )
    as_csv(visit.job, {}, tmp_path)
    row = _read(tmp_path / "deviations.csv")[0]
    assert (row["required"], row["found"]) == ("-0.12", "'=HYPERLINK(1)")


def test_a_run_name_cannot_leave_the_folder(tmp_path: Path) -> None:
    """A path in a run's name is only part of a file name."""
    visit = good_visit()
    written = as_csv(visit.job, {"../../etc/r1": visit.traces["r1"]}, tmp_path / "out")
    assert all(path.parent == tmp_path / "out" for path in written)

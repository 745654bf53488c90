"""`commission history`: the visits to one unit, and how its figures went."""

import json
import shutil
from pathlib import Path

import msgspec
import pytest

from commission.cli import main
from commission.cli.history import Visited, followed, lines, of_one_unit
from tests.job.test_trend import visits


def visited(*seconds: float) -> list[Visited]:
    """One visit a year, each with a closing stroke of so many seconds."""
    return [Visited(Path(f"{job.begun_utc[:10]}.job"), job) for job in visits(*seconds)]


def test_a_job_is_listed_with_what_it_measured(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The visit with its outcome and file, then each figure; one visit is no trend."""
    assert main(["--folder", str(job.parent), "history", "XV-1101"]) == 0
    out = capsys.readouterr().out
    assert "XV-1101, serial EH-40117, PRACTICE: 1 visit(s)" in out
    assert "NOT FINISHED" in out or "NOT ACCEPTED" in out
    assert "XV-1101.job" in out
    assert "stroke to closed, response time" in out
    assert "drift: not before 3 visits have it" in out


def test_json_is_one_object(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With days, figures and units."""
    assert main(["--folder", str(job.parent), "history", "XV-1101", "--json"]) == 0
    (unit,) = json.loads(capsys.readouterr().out)["units"]
    assert unit["serial"] == "EH-40117"
    assert unit["visits"][0]["file"] == "XV-1101.job"
    assert unit["trends"][0]["figures"][0]["unit"] == "s"


def test_four_years_are_a_drift_with_its_confidence_and_when_it_meets_the_limit() -> None:
    """0.4 s a year from 8.0 s against 10 s: all four days, the drift, and the visit at which it may be there."""
    text = list(lines(visited(8.0, 8.41, 8.79, 9.2)))
    place = text.index("stroke to closed, response time")
    rows = text[place + 1 : place + 6]
    assert [row.split()[0] for row in rows[:4]] == ["2026-05-12", "2027-05-12", "2028-05-11", "2029-05-11"]
    assert rows[4].startswith("  drift 0.")
    assert "s/a" in rows[4]
    assert "visit" in rows[4]
    assert max(len(line) for line in text[: place + 5]) <= 80


def test_what_no_visit_has_is_not_listed() -> None:
    """No partial stroke, no line about one."""
    assert [one.name for one in followed(visited(8.0))] == ["stroke to closed, response time"]


def test_units_of_two_serial_numbers_are_not_compared(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The old unit's visits are not the new one's, whatever stands on the tag plate."""
    first, second = visited(8.0, 9.0)
    identity = msgspec.structs.replace(second.job.sheet.identity, serial="EH-50001")
    sheet = msgspec.structs.replace(second.job.sheet, identity=identity)
    other = Visited(second.path, msgspec.structs.replace(second.job, sheet=sheet))
    assert [len(unit) for unit in of_one_unit([first, other])] == [1, 1]
    assert main(["--folder", str(job.parent), "history", "XV-1102"]) == 2
    assert "no job of XV-1102" in capsys.readouterr().err


def test_a_damaged_job_is_left_out_and_said(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The others are listed; the status says that something is not right."""
    shutil.copy(job, job.with_name("XV-1101-2.job"))
    job.with_name("XV-1101-2.job").write_bytes(b"no database")
    assert main(["--folder", str(job.parent), "history", "XV-1101"]) == 1
    captured = capsys.readouterr()
    assert "XV-1101-2.job is left out" in captured.err
    assert "1 visit(s)" in captured.out

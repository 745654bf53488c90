"""The first command anybody types: a practice unit walked by itself, and what can be done with the job it leaves."""

import csv
import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from pypdf import PdfReader

from commission.content import checklists_folder
from commission.job.playback import open_archive
from commission.report.outcome import outcome
from commission.walk import route
from tests.journeys.in_virtual_time import commissioned
from tests.journeys.programs import finished
from tests.journeys.records import archive
from tests.journeys.short_walk import SHEET
from tests.journeys.site import served
from tests.virtual_time import run_virtual


@pytest.mark.deep
@pytest.mark.timeout(480)
def test_the_first_command(tmp_path: Path) -> None:
    """Status 0, one object on standard output, one job and one report; what they hold is held against each other."""
    folder = tmp_path / "visits"
    done = finished("practice", "--unattended", "--out", folder, "--json", cwd=tmp_path, patience_s=400.0)
    assert done.returncode == 0, done.stderr
    printed = json.loads(done.stdout)
    assert printed["status"] == 0
    assert printed["outcome"] == "ACCEPTED"
    left = {path.suffix for path in folder.iterdir() if not path.name.startswith(".")}
    assert left == {".job", ".pdf"}
    job = Path(printed["job"])
    check_report(job, Path(printed["report"]))
    check_verify(job, tmp_path)
    check_exports(job, tmp_path)


@pytest.mark.long
@pytest.mark.timeout(400)
def test_a_vent_walks_by_itself(tmp_path: Path) -> None:
    """BDV-3307, which the spring opens and oil closes: by the steps that are its own, accepted."""
    report, said = walked(tmp_path, "BDV-3307", 360.0)
    for step in ("I3-commands", "K1-vent", "K3", "K4", "K5", "K6", "Q3-vent"):
        assert f"{step}: pass" in said
    for step in ("K1:", "L2:", "Q3:"):
        assert f"  {step}" not in said
    pages = [page.extract_text() for page in PdfReader(str(report)).pages]
    assert all("PRACTICE" in page for page in pages)


@pytest.mark.deep
@pytest.mark.timeout(900)
def test_a_control_valve_walks_by_itself(tmp_path: Path) -> None:
    """FCV-2204: set points from the link, its loop taken away, ESD on stored oil; its speed is its own, accepted."""
    _, said = walked(tmp_path, "FCV-2204", 800.0)
    for step in ("F6", "I3-set-point", "K1-watched", "K4-modulating", "K5-stored", "M2", "M3", "M4", "M5", "M6"):
        assert f"{step}: pass" in said


@pytest.mark.long
@pytest.mark.timeout(200)
def test_a_unit_that_no_link_reads_is_walked_by_eye(tmp_path: Path) -> None:
    """PCV-4410: eyes, a meter and keys, to its signatures; no step of its own asks for a line, and none is opened."""
    path, told = tmp_path / "PCV-4410.job", list[str]()
    run_virtual(commissioned(checklists_folder() / "units" / "pcv-4410.toml", path, told))
    job = open_archive(path).job
    assert route.current(job) is None, told[-5:]
    assert outcome(job, interim=False).words == "ACCEPTED"
    assert job.contact.connected is None
    assert not job.runs
    assert job.practice
    for step in ("I2-eyes", "I4-eyes", "J2-eyes", "J3-eyes", "K1-eyes", "M1-eyes", "Q3-eyes"):
        assert job.steps[step].done
    assert float(str(job.steps["M1-eyes"].attempts[0].answers["open"].answered.value)) == pytest.approx(10.0, abs=0.05)


def walked(folder: Path, tag: str, patience_s: float) -> tuple[Path, str]:
    """A unit's whole visit by itself, accepted, its record as it was left: the report, and what was said on the way."""
    out = folder / "visits"
    done = finished("practice", tag, "--unattended", "--out", out, "--json", cwd=folder, patience_s=patience_s)
    assert done.returncode == 0, done.stderr
    printed = json.loads(done.stdout)
    assert printed["outcome"] == "ACCEPTED"
    verified = finished("verify", Path(printed["job"]), cwd=folder)
    assert verified.returncode == 0, verified.stderr
    return Path(printed["report"]), done.stderr


def check_report(job: Path, report: Path) -> None:
    """PRACTICE stands on each page, and the digest of the record's last event in the report."""
    pages = [page.extract_text() for page in PdfReader(str(report)).pages]
    assert len(pages) >= 2
    assert all("PRACTICE" in page for page in pages)
    assert archive(job).head in "".join("".join(pages).split())


def check_verify(job: Path, folder: Path) -> None:
    """As left: 0, every figure the same. With one digit of one event changed: 4, and no visit goes on with it."""
    good = finished("verify", job, "--json", cwd=folder)
    assert good.returncode == 0, good.stderr
    figures = json.loads(good.stdout)["jobs"][0]["figures"]
    assert figures
    assert {figure["recomputed"] for figure in figures} == {"same"}
    bad = folder / "altered.job"
    shutil.copy(job, bad)
    alter_a_digit(bad)
    caught = finished("verify", bad, cwd=folder)
    assert caught.returncode == 4, caught.stderr
    refused = finished("run", bad, "--connect", "tcp://127.0.0.1:1?unit=11", cwd=folder)
    assert refused.returncode == 4, refused.stderr


def alter_a_digit(job: Path) -> None:
    """Change one digit inside the text of one event, as with any database tool."""
    with closing(sqlite3.connect(job)) as database, database:
        columns = [row[1] for row in database.execute("PRAGMA table_info(events)")]
        text = next(name for name in columns if name in ("text", "event", "body"))
        rows = database.execute(f"SELECT rowid, {text} FROM events").fetchall()  # noqa: S608  # a name from the schema
        number, old = next((number, old) for number, old in rows if "figures_computed" in old)
        place = max(place for place, letter in enumerate(old) if letter in "012345678")
        new = f"{old[:place]}{int(old[place]) + 1}{old[place + 1 :]}"
        database.execute(f"UPDATE events SET {text} = ? WHERE rowid = ?", (new, number))  # noqa: S608  # as above


def check_exports(job: Path, tmp_path: Path) -> None:
    """`report --text`, `export --json` and `export --csv` tell the same strokes."""
    text = finished("report", job, "--text", cwd=tmp_path)
    assert text.returncode == 0, text.stderr
    assert "PRACTICE" in text.stdout
    exported = finished("export", job, "--json", cwd=tmp_path)
    assert exported.returncode == 0, exported.stderr
    as_json = json.loads(exported.stdout)
    assert "K1 open 1" in exported.stdout
    assert as_json
    tables = finished("export", job, "--csv", tmp_path / "tables", cwd=tmp_path)
    assert tables.returncode == 0, tables.stderr
    written = sorted((tmp_path / "tables").glob("*.csv"))
    assert written
    for path in written:
        with path.open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        assert len({len(row) for row in rows}) == 1, path.name


def test_watch_reads_a_unit_once(tmp_path: Path) -> None:
    """`watch --json` prints one object with the points of the unit, as its true state has them."""
    with served(SHEET, speed=20.0, start_at="open") as desk:
        seen = finished("watch", SHEET, "--connect", desk.url, "--json", cwd=tmp_path)
        truth = desk.truth()
    assert seen.returncode == 0, seen.stderr
    points = json.loads(seen.stdout)["points"]
    assert points["travel"]["value"] * 100 == pytest.approx(truth["travel_pct"], abs=0.5)
    assert points["open_limit"]["value"] == 1
    assert points["travel"]["age_s"] < 20.0

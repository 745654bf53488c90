"""The findings planted in XV-1101 for its first visit (trade guide 10.5), walked unattended: each is in the record."""

from pathlib import Path

import pytest
from pypdf import PdfReader

from commission.job.playback import open_archive
from commission.job.state import Job
from commission.report.outcome import outcome
from commission.verify import verify_job
from commission.walk import route
from tests.journeys.in_virtual_time import commissioned
from tests.journeys.programs import finished
from tests.journeys.short_walk import SHEET
from tests.virtual_time import run_virtual

PLANTED = "planted-findings"


def check_precharge(job: Job) -> None:
    """62 bar at 4 °C is found where 89.8 is right; charged to that, the found value stays in the record."""
    attempt = job.steps["G4"].attempts[0]
    found, left = (attempt.answers[name].answered for name in ("found", "left"))
    assert (found.verdict, left.verdict, attempt.verdict) == ("fail", "pass", "pass after adjustment")
    assert found.value == pytest.approx(62.0, rel=0.01)
    assert left.value == pytest.approx(89.8, rel=0.01)


def check_limit(job: Job) -> None:
    """The closed limit that chatters fails I2 in words; locked off, tightened, and what hangs on it is repeated."""
    attempts = job.steps["I2"].attempts
    assert [attempt.verdict for attempt in attempts] == ["fail", "pass after adjustment"]
    words = " ".join(item.raised.found for item in job.deviations.values() if item.raised.step == "I2")
    assert "Closed limit" in words
    assert "closed limit's screw found loose" in " ".join(
        touched.adjusted.detail for touched in job.contact.adjustments
    )
    assert [attempt.verdict for attempt in job.steps["H2"].attempts] == ["pass", "pass after adjustment"]
    assert job.steps["H2"].attempts[0].voided_by


def check_low_trip(job: Job) -> None:
    """A low trip after 0.5 s: found as the line vents, corrected by the owner's word, and taken again."""
    (deviation,) = [item for item in job.deviations.values() if item.raised.step == "O1"]
    assert deviation.raised.required.startswith("found_trip_point: ")
    assert deviation.accepted is not None
    assert "Piet Exampler" in deviation.accepted.reason
    assert "low trip delay from 0.5 to 5.0 s" in " ".join(
        touched.adjusted.detail for touched in job.contact.adjustments
    )


@pytest.mark.deep
@pytest.mark.timeout(1800)
def test_each_planted_finding_of_xv_1101_is_found(tmp_path: Path) -> None:
    """To its end: found, put right, repeated; not accepted while nobody owns what was found; each on the report."""
    path, told = tmp_path / "XV-1101.job", list[str]()
    run_virtual(commissioned(SHEET, path, told, scenario=PLANTED))
    job = open_archive(path).job
    assert route.current(job) is None, told[-5:]
    check_precharge(job)
    check_limit(job)
    check_low_trip(job)
    said = outcome(job, interim=False)
    assert said.words == "NOT ACCEPTED"
    assert all("is neither accepted nor given owner and date" in words for words in said.against), said.against
    assert {check.recomputed for check in verify_job(path).figures} == {"same"}
    made = finished("report", path, "--out", tmp_path / "found.pdf", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(str(tmp_path / "found.pdf")).pages]
    assert "NOT ACCEPTED" in pages[0]
    for words in ("Closed limit", "screw found loose", "found_trip_point", "does not use the trip solenoid"):
        assert words in " ".join(pages), words

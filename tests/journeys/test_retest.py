"""
The periodic re-test, walked unattended from its first question to its signatures: twelve months later, and what it
must say.
"""

from pathlib import Path

import pytest
from pypdf import PdfReader

from commission.figure import Verdict
from commission.job.state import Job
from commission.report.outcome import outcome
from commission.verify import verify_job
from commission.walk import route
from tests.again import handed_over
from tests.journeys.in_virtual_time import practising, retested
from tests.journeys.programs import finished
from tests.journeys.records import archive, samples_of
from tests.journeys.short_walk import SHEET
from tests.virtual_time import run_virtual

LATER = "twelve-months-later"


def check_as_found_first(job: Job, path: Path) -> None:
    """
    Safety rule R21: nothing was commanded before the as-found stroke, no state was isolated, recording was armed before
    the command, a person stood at the local stop, and the run carries its hours at rest.
    """
    runs = sorted(job.runs.values(), key=lambda run: run.n)
    first = runs[0]
    assert (first.begun.step, first.begun.arguments["direction"]) == ("K1-closed", "closed")
    assert [run.begun.as_found for run in runs] == [True, *[False] * (len(runs) - 1)]
    assert first.begun.arguments["rest_h"] == "8760"
    assert [entry.target for entry in job.energy_log.crossed][1:] == ["in operation", "live", "in operation"]
    sent = first.sent[0]
    assert sent.role == "command_close"
    assert samples_of(path, first.begun.run)[0].at_ns < sent.at_ns
    answers = job.steps["K1-closed"].attempts[0].answers
    assert answers["stop"].answered.text == "Juno Demoval"
    assert answers["stop"].at_utc < first.at_utc


def check_pressure_is_the_reason(job: Job) -> None:
    """Guide 10.6: the partial stroke passes, is watched, and the pressures say why while its time says nothing."""
    run = job.runs["L4-1"]
    (result,) = run.results
    assert result.verdict == Verdict.PASS_WATCH
    assert result.settles.startswith("breakaway pressure 48.")
    assert "friction pressure 19." in result.settles
    rows = {row.figure: row for row in result.compared}
    assert rows["time_to_target"].verdict == Verdict.PASS
    assert rows["out_pressure_10_pct"].verdict == rows["back_pressure_10_pct"].verdict == Verdict.PASS_WATCH
    time = run.figure("time_to_target")
    assert time is not None
    assert float(time.value) == pytest.approx(10.65, rel=0.02), "guide 10.6"


@pytest.mark.long
@pytest.mark.timeout(400)
def test_r21_twelve_months_later_the_whole_retest(tmp_path: Path) -> None:
    """
    As-found stroke, back, partial stroke against the baseline of the earlier job, span, signatures; verified, and on
    the report's pages.
    """
    told: list[str] = []

    async def main() -> Path:
        earlier = await handed_over(tmp_path, rested=True)
        async with practising(SHEET, scenario=LATER) as unit:
            visit = await retested(earlier, tmp_path / "again.job", unit, told)
        earlier.unlink()
        return visit.path

    path = run_virtual(main())
    job = archive(path).job
    assert route.current(job) is None, told[-1]
    check_as_found_first(job, path)
    check_pressure_is_the_reason(job)
    closing = job.runs["K1-closed-1"].figure("response_time")
    assert closing is not None
    assert float(closing.value) == pytest.approx(8.97, rel=0.02), "guide 10.6"
    assert job.runs["M1-2"].results[0].verdict == Verdict.PASS
    assert [signature.signed.role for signature in job.register.signatures] == ["technician", "operator"]
    assert outcome(job, interim=False).words == "ACCEPTED"
    found = verify_job(path)
    assert found.unaltered
    assert {check.recomputed for check in found.figures} == {"same"}
    check_pages(path, tmp_path)


@pytest.mark.long
@pytest.mark.timeout(200)
def test_the_partial_stroke_alone_is_rerun_months_later(tmp_path: Path) -> None:
    """`commission partial-stroke JOB`: one movement, against the baseline of that job, handed back and signed."""
    told: list[str] = []

    async def main() -> Path:
        earlier = await handed_over(tmp_path, rested=True)
        async with practising(SHEET, scenario=LATER) as unit:
            visit = await retested(earlier, tmp_path / "again.job", unit, told, checklist="partial-stroke.toml")
        return visit.path

    job = archive(run_virtual(main())).job
    assert route.current(job) is None, told[-1]
    assert [(run.begun.procedure, run.begun.as_found) for run in job.runs.values()] == [("partial_stroke", True)]
    check_pressure_is_the_reason(job)
    assert outcome(job, interim=False).words == "ACCEPTED"


def check_pages(path: Path, folder: Path) -> None:
    """Page one says what to watch; the comparison, the as-found stroke and the span stand on the pages."""
    made = finished("report", path, "--out", folder / "again.pdf", cwd=folder)
    assert made.returncode == 0, made.stderr
    pages = [page.extract_text() for page in PdfReader(str(folder / "again.pdf")).pages]
    words = " ".join(" ".join(pages).split())
    assert "watch, partial stroke L4 1: breakaway pressure 48." in " ".join(pages[0].split())
    for expected in ("Partial stroke L4 1 against its baseline", "as-found", "after 8760 h at rest", "Feedback"):
        assert expected in words, expected
    assert "would settle it: breakaway" not in words

"""The packed commissioning of XV-1101 from its answers file, whole, in virtual time: however busy the machine is."""

from pathlib import Path

import pytest

from commission.job.playback import open_archive
from commission.report.outcome import outcome
from commission.verify import verify_job
from commission.walk import route
from tests.journeys.in_virtual_time import commissioned
from tests.journeys.short_walk import SHEET
from tests.virtual_time import run_virtual

CAUSED = ("command signal", "motor supply", "control supply", "all supplies", "ESD", "local ESD")
FAIL_SAFE_RUNS = 8


@pytest.mark.deep
@pytest.mark.timeout(900)
def test_the_whole_visit_is_accepted_and_every_figure_recomputes(tmp_path: Path) -> None:
    """To the signatures; each fail-safe stroke timed by what it should be, and nothing moved after any of them."""
    path, told = tmp_path / "XV-1101.job", list[str]()
    run_virtual(commissioned(SHEET, path, told))
    job = open_archive(path).job
    assert route.current(job) is None, told[-5:]
    said = outcome(job, interim=False)
    assert not said.against, said.against
    caused = [run for run in job.runs.values() if run.begun.procedure == "fail_safe"]
    assert len(caused) == FAIL_SAFE_RUNS
    assert {run.begun.arguments["cause"] for run in caused} == set(CAUSED)
    assert {result.verdict for run in caused for result in run.results} == {"pass"}
    silent = [run for run in caused if run.begun.arguments["cause"] in ("control supply", "all supplies")]
    assert all(run.timed_by.startswith("independent recorder") for run in silent)
    assert not [sent for run in caused for sent in run.sent]
    acts = [run for run in job.runs.values() if run.begun.procedure == "panel_acts"]
    assert [run.results[-1].verdict for run in acts] == ["pass"] * 3
    assert {check.recomputed for check in verify_job(path).figures} == {"same"}

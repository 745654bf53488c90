"""
Safety rule R21: what is found first stands. The first movement of a re-test is marked as found, runs carry their rest,
a baseline is renewed by a signed decision only, and breakaway is compared after a like rest only.
"""

from pathlib import Path

import pytest

from commission.analysis.baseline import BREAKAWAY
from commission.figure import Verdict
from commission.practice.condition import Condition
from commission.report.contents import contents
from commission.supervise.order import MotionRefused
from commission.verify import verify_job
from commission.visit import Visit
from tests.again import a_year_later, handed_over
from tests.virtual_time import run_virtual
from tests.visiting import visiting

STIFF = Condition(friction_factor=1.45)


def text_of(visit: Visit) -> str:
    """The report's page one and its tables as one text."""
    return str(contents(visit.job, {}, head_digest="ab" * 32, events=1, interim=False, made_utc="2026-05-12T16:20:00Z"))


@pytest.mark.slow
def test_r21_twelve_months_later_a_stiff_valve_passes_and_is_watched(tmp_path: Path) -> None:
    """
    Friction x 1.45: the time is 7 % longer and says nothing; the pressure is the reason, as found, and verify finds the
    same from the new file alone.
    """

    async def main() -> Path:
        earlier = await handed_over(tmp_path, rested=True)
        async with a_year_later(earlier, STIFF) as there:
            ended = await there.run("L4")
            assert ended.how == "finished", ended
            (run,) = there.visit.job.runs.values()
            assert run.begun.as_found
            (result,) = run.results
            assert result.verdict == Verdict.PASS_WATCH
            assert "breakaway pressure 48." in result.settles
            assert "friction pressure 19." in result.settles
            rows = {row.figure: row.verdict for row in result.compared}
            assert rows[BREAKAWAY] == Verdict.PASS_WATCH
            assert rows["time_to_target"] == rows["dead_time"] == Verdict.PASS
            assert "breakaway pressure 48." in text_of(there.visit)
            there.conclude("L4")
            there.cross("in operation")
            earlier.unlink()
            return there.visit.path

    found = verify_job(run_virtual(main()))
    assert found.unaltered
    assert {check.recomputed for check in found.figures} == {"same"}


@pytest.mark.slow
def test_r21_without_a_rested_baseline_the_breakaway_is_not_decided(tmp_path: Path) -> None:
    """A healthy unit after a year: nothing else is out of its band, and still it is no pass."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier) as there:
            await there.run("L4")
            (run,) = there.visit.job.runs.values()
            assert run.results[0].verdict == Verdict.NOT_DECIDED
            assert "no run after a like rest" in run.results[0].settles
            assert run.begun.as_found
            assert run.begun.arguments["rest_h"] == "8760.0"

    run_virtual(main())


def test_r21_the_baseline_says_that_it_lacks_a_rested_run(tmp_path: Path) -> None:
    """In the report of the visit that made it, and of every one after."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier) as there:
            assert "no run after at least 12 h at rest" in text_of(there.visit)
        (tmp_path / "rested").mkdir()
        rested = await handed_over(tmp_path / "rested", rested=True)
        async with a_year_later(rested) as there:
            assert "no run after at least 12 h at rest" not in text_of(there.visit)

    run_virtual(main())


def test_r21_nothing_is_rerun_from_a_job_without_a_baseline(tmp_path: Path) -> None:
    """It is refused before a frame is sent."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier) as there:
            step = there.visit.job.checklist.step("L4")
            assert step.procedures[0].arguments["compared"] == "yes"
        bare = tmp_path / "bare"
        bare.mkdir()
        async with visiting(bare, speed=20) as begun:
            await begun.go_live()
            begun.cross("in operation")
            path = begun.visit.path
        async with a_year_later(path) as there:
            with pytest.raises(MotionRefused, match="no stroke by the pump is recorded"):
                await there.run("L4")
            assert not [frame for frame in there.unit.server.frames if frame.is_write]

    run_virtual(main())

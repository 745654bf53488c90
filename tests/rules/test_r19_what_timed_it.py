"""Safety rule R19: each stroke says what timed it, from which to which moment, and who commanded it."""

import asyncio
from pathlib import Path

from commission.job.playback import open_archive
from commission.verify import verify_job
from tests.altering import STROKE, finished_job
from tests.virtual_time import run_virtual
from tests.visiting import visiting


def test_r19_stroke_of_a_visit_names_its_clock_and_its_commander(tmp_path: Path) -> None:
    """In the record, beside the figures."""
    run = open_archive(finished_job(tmp_path)).job.runs[STROKE]
    assert run.timed_by == "samples over the link, t0 to t6"
    assert run.commanded_by == "laptop"


def test_r19_stroke_with_its_supply_gone_has_no_time_of_its_own(tmp_path: Path) -> None:
    """Control supply lost in mid-stroke: the unit is silent, the run is ended, no stroke time comes out of the gap."""

    async def main() -> None:
        async with visiting(tmp_path, speed=5) as there:
            await there.go_live()
            there.opened_at_the_panel()
            running = asyncio.get_running_loop().create_task(there.stroke("closed"))
            await there.until_travel(below_pct=60)
            there.unit.desk.act("control_supply", False)
            ended = await running
            assert ended.how == "aborted"
            run = there.visit.job.runs[STROKE]
            assert run.figures == ()
            assert [result.verdict for result in run.results] == ["stopped"]
            assert run.gaps

    run_virtual(main())
    assert verify_job(tmp_path / "XV-1101.job").recomputes

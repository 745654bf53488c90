"""`commission partial-stroke`: from which file it begins, and which it refuses."""

import argparse
from pathlib import Path

import pytest

from commission.cli import opening
from commission.cli.output import Ending, Status
from commission.cli.partial_stroke import goes_on, run
from commission.content import Text, checklists_folder
from commission.visit.again import begin_again
from tests.again import STEPS, handed_over
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody

SHEET = checklists_folder() / "units" / "xv-1101.toml"


def test_a_sheet_is_no_job() -> None:
    """The sentence says where the first partial strokes are made."""
    with pytest.raises(Ending, match="rerun from the job with its baseline") as raised:
        run(argparse.Namespace(sheet=SHEET, connect="tcp://127.0.0.1:1"))
    assert raised.value.status is Status.USAGE


def test_a_new_job_is_begun_beside_the_old_one(tmp_path: Path) -> None:
    """Named for the unit and the day; the old one is read only."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        assert not goes_on(earlier)
        clock = virtual_clock()
        checklist = checklists_folder() / "partial-stroke.toml"
        visit = opening.open_visit(earlier, None, checklist, clock, Nobody(), TESS, again=True)
        assert visit.path.parent == earlier.parent
        assert visit.path.name == "XV-1101-2026-05-12.job"
        assert visit.job.checklist.name == "partial stroke rerun"
        assert visit.job.history.earlier is not None
        assert visit.job.history.earlier.file == earlier.name
        await visit.close("over")
        assert goes_on(visit.path)

    run_virtual(main())


def test_r21_the_packed_retest_makes_the_as_found_stroke_first() -> None:
    """Before any opening, any partial stroke, any stop test; somebody stands at the local stop."""
    from commission.checklist import load_checklist

    checklist, _ = load_checklist(checklists_folder() / "retest.toml")
    moving = [step for step in checklist.steps if step.procedures]
    assert [step.id for step in moving][:3] == ["K1-closed", "K1-open", "L4"]
    assert "J2" not in {step.id for step in checklist.steps}
    assert {"stop", "stem_closed"} <= {question.id for question in moving[0].questions}


def test_an_unfinished_rerun_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """It is one visit: no second new job is made of it."""

    async def main() -> Path:
        earlier = await handed_over(tmp_path)
        new = tmp_path / "again.job"
        visit = begin_again(earlier, new, (Text("a.toml", STEPS),), virtual_clock(), Nobody(), TESS)
        await visit.close("over")
        return new

    assert goes_on(run_virtual(main()))

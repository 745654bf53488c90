"""Coming back to a unit: from which file a re-test or a rerun begins, and which it refuses."""

import argparse
from pathlib import Path

import pytest

from commission.cli import opening
from commission.cli.again import goes_on, visit_again
from commission.cli.output import Ending, Status
from commission.content import Text, checklists_folder
from commission.visit.again import begin_again
from tests.again import STEPS, handed_over
from tests.cli.conftest import SHEET
from tests.virtual_time import run_virtual, virtual_clock
from tests.visiting import TESS, Nobody


def test_a_sheet_is_no_job() -> None:
    """The sentence says what is needed instead."""
    chosen = argparse.Namespace(sheet=SHEET, connect="tcp://127.0.0.1:1")
    with pytest.raises(Ending, match="is no job: name the earlier one") as raised:
        visit_again(chosen, "retest.toml", "name the earlier one")
    assert raised.value.status is Status.USAGE


@pytest.mark.parametrize(
    ("checklist", "name"), [("partial-stroke.toml", "partial stroke rerun"), ("retest.toml", "re-test")]
)
def test_a_new_job_is_begun_beside_the_old_one(tmp_path: Path, checklist: str, name: str) -> None:
    """Named for the unit and the day; the old one is read only."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        assert not goes_on(earlier)
        clock = virtual_clock()
        path = checklists_folder() / checklist
        visit = opening.open_visit(earlier, None, path, clock, Nobody(), TESS, again=True)
        assert visit.path.parent == earlier.parent
        assert visit.path.name == "XV-1101-2026-05-12.job"
        assert visit.job.checklist.name == name
        assert visit.job.history.earlier is not None
        assert visit.job.history.earlier.file == earlier.name
        await visit.close("over")
        assert goes_on(visit.path)

    run_virtual(main())


def test_an_unfinished_rerun_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """It is one visit: no second new job is made of it."""

    async def main() -> Path:
        earlier = await handed_over(tmp_path)
        new = tmp_path / "again.job"
        visit = begin_again(earlier, new, (Text("a.toml", STEPS),), virtual_clock(), Nobody(), TESS)
        await visit.close("over")
        return new

    assert goes_on(run_virtual(main()))

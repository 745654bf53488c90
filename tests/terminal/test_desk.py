"""The desk: jobs found the latest first, sheets, names that are free, and a close that closes everything."""

from pathlib import Path

import pytest

from commission.content import checklists_folder
from commission.record.errors import RecordHeld
from commission.terminal.desk import sheet_of
from tests.terminal.moving_app import desk_at
from tests.visiting import TESS, Nobody

SHEET = checklists_folder() / "units" / "xv-1101.toml"


@pytest.mark.asyncio
async def test_a_job_that_was_begun_is_found_again(tmp_path: Path) -> None:
    """With its tag, its service, and unsigned; nothing is in motion at a desk without a line."""
    desk = desk_at(tmp_path / "jobs")
    assert desk.jobs() == ()
    visit = desk.begin(SHEET, Nobody(), TESS)
    assert not desk.in_motion
    assert not desk.stop(TESS, "stop key")
    await desk.close("the test is over")
    assert desk.visit is None
    (found,) = desk.jobs()
    assert (found.path, found.tag, found.signed, found.trouble) == (visit.path, "XV-1101", False, "")


@pytest.mark.asyncio
async def test_r03_a_job_gone_on_with_is_unknown(tmp_path: Path) -> None:
    """After any restart the energy state is proved anew; nobody else can hold it meanwhile."""
    desk, other = desk_at(tmp_path), desk_at(tmp_path)
    path = desk.begin(SHEET, Nobody(), TESS).path
    with pytest.raises(RecordHeld):
        other.resume(path, Nobody())
    await desk.leave("left")
    again = desk.resume(path, Nobody())
    assert again.job.energy_log.now.state.value == "unknown"
    await desk.close("left")


def test_sheets_are_those_of_the_folder_and_those_that_came_along(tmp_path: Path) -> None:
    """One's own first."""
    own = tmp_path / "own.toml"
    own.write_text(SHEET.read_text(encoding="utf-8"), encoding="utf-8")
    sheets = desk_at(tmp_path).sheets()
    assert sheets[0] == own
    assert SHEET in sheets
    assert sheet_of(own).identity.tag == "XV-1101"

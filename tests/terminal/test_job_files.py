"""Job files at a desk: names that are free, what a file holds, and what is wrong with one."""

from pathlib import Path

import pytest

from commission.terminal import job_files
from tests.terminal.moving_app import desk_at
from tests.terminal.test_desk import SHEET
from tests.visiting import TESS, Nobody


@pytest.mark.asyncio
async def test_two_jobs_of_one_day_have_two_names(tmp_path: Path) -> None:
    """Nothing is ever written over, and the folder is made where there is none."""
    desk = desk_at(tmp_path / "not" / "there")
    first = desk.begin(SHEET, Nobody(), TESS)
    await desk.leave("left")
    second = desk.begin(SHEET, Nobody(), TESS)
    await desk.close("left")
    assert first.path != second.path
    assert len(desk.jobs()) == 2


@pytest.mark.asyncio
async def test_a_job_is_looked_at_without_being_opened_for_writing(tmp_path: Path) -> None:
    """Tag, service, and in what state it was left; the file is as it was."""
    desk = desk_at(tmp_path)
    path = desk.begin(SHEET, Nobody(), TESS).path
    await desk.close("left")
    before = path.read_bytes()
    found = job_files.look(path)
    assert (found.tag, found.practice, found.signed, found.trouble) == ("XV-1101", False, False, "")
    assert "UNKNOWN" in found.left
    assert path.read_bytes() == before


def test_what_is_no_job_is_listed_with_its_trouble(tmp_path: Path) -> None:
    """A file that cannot be read does not hide the others."""
    (tmp_path / "broken.job").write_bytes(b"not a database")
    (found,) = desk_at(tmp_path).jobs()
    assert found.trouble


@pytest.mark.asyncio
async def test_a_re_test_stands_beside_its_job(tmp_path: Path) -> None:
    """In the same folder, under its own name, on the same sheet."""
    desk = desk_at(tmp_path)
    earlier = desk.begin(SHEET, Nobody(), TESS).path
    await desk.leave("left")
    again = desk.again(earlier, Nobody(), "retest.toml")
    await desk.close("left")
    assert again.path.parent == earlier.parent
    assert again.path != earlier
    assert again.job.checklist.name == "re-test"
    assert len(desk.jobs()) == 2

"""The first screen: what there is to go on with, and in what state it was left."""

from pathlib import Path

import pytest

from tests.terminal.walking import walking


@pytest.mark.asyncio
async def test_without_a_job_it_says_how_to_begin(tmp_path: Path) -> None:
    """And that it is no safety system (R28)."""
    async with walking(tmp_path) as there:
        await there.sees("none yet in ")
        await there.sees("N start a job at a unit")
        await there.sees("P practise: the whole walk at a practice unit")
        assert "Enter" not in there.text, "there is nothing to go on with"
        assert "re-test" not in there.text
        await there.sees("NOT A SAFETY SYSTEM: site procedure, permits, local codes and licensed people win")


@pytest.mark.asyncio
async def test_a_job_says_in_what_state_it_was_left_and_is_gone_on_with(tmp_path: Path) -> None:
    """Its state is unknown again, and said so before; the stop key is asked for again."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.press("enter", "escape")
        await there.press("q")
        await there.sees("left UNKNOWN")
        await there.sees("A3 begun")
        await there.sees("begins with its energy state UNKNOWN")
        await there.press("enter")
        await there.sees("press the stop key now")
        await there.press("space")
        await there.sees("Number on the gauge")


@pytest.mark.asyncio
async def test_a_file_that_is_no_job_is_listed_with_its_trouble(tmp_path: Path) -> None:
    """It cannot be chosen."""
    (tmp_path / "[b]broken.job").write_bytes(b"no database")
    async with walking(tmp_path) as there:
        await there.sees("[b]broken.job")
        await there.sees("cannot be read")
        await there.press("enter")
        assert there.app.desk.visit is None


@pytest.mark.asyncio
async def test_new_job_and_practice_lead_to_the_start_screen(tmp_path: Path) -> None:
    """N and P; B goes back."""
    async with walking(tmp_path) as there:
        await there.press("n")
        await there.sees("Start a job")
        await there.press("escape", "b", "p")
        await there.sees("Practise on a unit")


@pytest.mark.asyncio
@pytest.mark.parametrize(("key", "name"), [("t", "re-test"), ("l", "partial stroke rerun")])
async def test_r21_a_re_test_is_a_new_job_beside_the_earlier_one(tmp_path: Path, key: str, name: str) -> None:
    """T and L on the job that the bar stands on; without one they say what to do."""
    async with walking(tmp_path) as there:
        await there.press(key)
        await there.sees("Point at the job of the earlier visit first")
        await there.start()
        earlier = there.visit.path
        await there.press("enter", "escape")
        await there.press("q")
        await there.sees("left UNKNOWN")
        await there.press(key)
        await there.sees("press the stop key")
        taken = there.visit.job.history.earlier
        assert taken is not None
        assert taken.file == earlier.name
        assert there.visit.path != earlier
        assert there.visit.job.checklist.name == name

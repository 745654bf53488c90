"""Starting a job: who, then which sheet."""

import shutil
from pathlib import Path

import pytest
from textual.widgets import OptionList

from commission.checklist import load_checklist
from commission.cli.arguments import parser
from commission.cli.wishes import PracticeWishes
from commission.content import checklists_folder
from tests.terminal.test_desk import Started
from tests.terminal.walking import SHEET, walking


@pytest.mark.asyncio
async def test_a_name_and_a_sheet_start_a_job(tmp_path: Path) -> None:
    """By keys alone; the role is recorded with the name."""
    shutil.copy(SHEET, tmp_path / "a.toml")
    async with walking(tmp_path) as there:
        await there.press("n")
        await there.sees("Who is at the keyboard")
        await there.type("T. Placeholder, technician")
        await there.press("enter")
        await there.sees("press the stop key now")
        assert there.app.who == "T. Placeholder"
        assert there.visit.job.register.people["T. Placeholder"].role == "technician"
        assert there.visit.path.parent == tmp_path


@pytest.mark.asyncio
async def test_practice_begins_with_the_unit_that_the_command_line_takes(tmp_path: Path) -> None:
    """Whoever chooses nothing gets the same unit by P as by the command; other units with a story come next."""
    async with walking(tmp_path) as there:
        await there.press("p")
        await there.sees("Who is at the keyboard")
        sheets = there.app.screen.query_one("#sheets", OptionList)
        listed = [Path(str(sheets.get_option_at_index(at).id)).stem for at in range(sheets.option_count)]
        assert listed[:2] == ["xv-1101", "bdv-3307"]
        assert parser().parse_args(["practice"]).unit == "XV-1101"


@pytest.mark.asyncio
async def test_without_a_name_nothing_starts(tmp_path: Path) -> None:
    """The field is where one is led to."""
    async with walking(tmp_path) as there:
        await there.press("n", "escape", "enter")
        assert there.app.desk.visit is None
        assert there.app.field_focused


@pytest.mark.asyncio
async def test_a_sheet_that_cannot_be_used_says_why(tmp_path: Path) -> None:
    """In its line, never as markup."""
    (tmp_path / "bad.toml").write_text('tag = "[b]', encoding="utf-8")
    async with walking(tmp_path) as there:
        await there.press("n")
        await there.sees("bad.toml")
        await there.sees("cannot be used")
        await there.type("T. Placeholder")
        await there.press("enter")
        assert there.app.desk.visit is None


@pytest.mark.asyncio
async def test_somebody_practises_on_a_checklist_of_their_own(tmp_path: Path) -> None:
    """It is named where the unit is chosen, and is what the job then walks; a real unit takes the packed one."""
    own = checklists_folder() / "one-stroke.toml"
    async with walking(tmp_path) as there:
        there.app.desk.wishes = PracticeWishes(checklist=own)
        there.app.desk._start_practice = lambda *_: Started()
        await there.press("n")
        await there.sees("Who is at the keyboard")
        assert "your own checklist" not in there.text
        await there.press("escape", "b", "p")
        await there.sees("On your own checklist: one-stroke.toml")
        await there.type("T. Placeholder")
        await there.press("enter")
        await there.sees("press the stop key now")
        assert there.visit.job.checklist.name == load_checklist(own)[0].name

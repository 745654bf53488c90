"""Choosing what a practice unit has: by keys, from the start screen, in the unit's process."""

from pathlib import Path

import pytest
from textual.widgets import OptionList

from commission.cli.wishes import PracticeWishes
from tests.terminal.walking import SHEET, Walking, walking


async def at_choices(there: Walking, wishes: PracticeWishes) -> None:
    """From the jobs, by keys, to what XV-1101 is to have."""
    there.app.desk.wishes = wishes
    await there.press("p")
    await there.press("escape")
    sheets = there.app.screen.query_one("#sheets", OptionList)
    sheets.highlighted = next(number for number in range(9) if sheets.get_option_at_index(number).id == str(SHEET))
    await there.sees("It will be: as its sheet says; seed 0")
    await there.press("f")
    await there.sees("What is XV-1101 to have")


async def point_at(there: Walking, name: str) -> None:
    """The bar goes to one choice."""
    listed = there.app.screen.query_one("#choices", OptionList)
    listed.highlighted = listed.get_option_index(name)
    await there.pilot.pause(0.05)


@pytest.mark.asyncio
async def test_a_scenario_and_two_faults_by_keys(tmp_path: Path) -> None:
    """Enter takes a scenario; of a fault the severity is asked; N asks for the seed; B goes back and it is said."""
    wishes = PracticeWishes()
    async with walking(tmp_path) as there:
        await at_choices(there, wishes)
        await point_at(there, "scenario the-day")
        await there.press("enter")
        await there.sees("Now: the-day; seed 0")
        await point_at(there, "fault worn-pump")
        await there.sees("the pump slips; 1 is an efficiency of 0.44 less")
        await there.press("enter")
        await there.sees("How bad is worn-pump? 0 to 1")
        await there.press("enter")
        await point_at(there, "fault tight-packing")
        await there.press("enter")
        await there.type("0.3")
        await there.press("n")
        await there.type("17")
        await there.sees("Now: the-day, worn-pump=0.5, tight-packing=0.3; seed 17")
        await there.press("b")
        await there.sees("It will be: the-day, worn-pump=0.5, tight-packing=0.3; seed 17")
    setup = wishes.setup(SHEET)
    assert setup is not None
    assert setup.condition.friction_factor == pytest.approx(1.45)


@pytest.mark.asyncio
async def test_what_is_typed_wrong_is_said_and_changes_nothing(tmp_path: Path) -> None:
    """A severity beyond 1, a seed that is none; the field stays, Esc leaves it; C clears everything but the seed."""
    wishes = PracticeWishes()
    async with walking(tmp_path) as there:
        await at_choices(there, wishes)
        await point_at(there, "fault worn-pump")
        await there.press("enter")
        await there.type("0,7")
        assert wishes.of(SHEET).faults == ("worn-pump=0.7",)
        await there.press("enter")
        await there.type("7")
        await there.sees("expected a severity from 0 to 1")
        assert wishes.of(SHEET).faults == ("worn-pump=0.7",)
        await there.press("escape", "n")
        await there.type("-1")
        await there.sees("expected a whole number")
        await there.press("escape", "c")
        await there.sees("Now: as its sheet says; seed 0")


@pytest.mark.asyncio
async def test_a_job_on_a_real_unit_offers_no_faults(tmp_path: Path) -> None:
    """F does nothing there, and is not shown."""
    async with walking(tmp_path) as there:
        there.app.desk.wishes = PracticeWishes()
        await there.press("n", "escape")
        assert "faults" not in await there.press("f")
        await there.sees("Start a job")

"""Connecting by keys: the questions of safety rule R16, a real unit, and what is said where there is none."""

from pathlib import Path

import pytest

from commission.content import checklists_folder
from commission.terminal.screens.connect import ConnectScreen
from tests.supervise.rig import demo_sheet, served
from tests.terminal.beside import Beside
from tests.terminal.prepared import opened
from tests.terminal.walking import WHO, Walking, walking


@pytest.mark.asyncio
async def test_a_unit_without_a_link_is_not_connected_to(tmp_path: Path) -> None:
    """It says so, asks nothing, tries nothing, and B goes back to the walk."""
    async with walking(tmp_path) as there:
        await there.start(sheet=checklists_folder() / "units" / "pcv-4410.toml")
        await there.app.push_screen(ConnectScreen(there.visit))
        await there.sees("No link reads this unit")
        await there.press("enter")
        assert "NOT CONNECTED" not in there.text
        await there.press("b")
        await there.until(lambda: there.app.screen is there.app.walk)


async def at_the_questions(there: Walking) -> ConnectScreen:
    """The connect screen over a new job."""
    await there.start()
    screen = ConnectScreen(there.visit)
    await there.app.push_screen(screen)
    await there.sees("is another master on this line")
    return screen


@pytest.mark.asyncio
async def test_r16_a_unit_is_connected_to_after_the_questions(tmp_path: Path) -> None:
    """Who else is on the line, who agrees, the address; all three are recorded, and what was learnt is read."""
    async with served(demo_sheet(), real_time=True) as unit, walking(tmp_path) as there:
        await at_the_questions(there)
        await there.press("enter")
        assert "is another master on this line" in there.text
        await there.type("none")
        await there.sees("Who in the control room agrees")
        await there.type("M. Mockford")
        await there.sees("Address of the unit")
        there.app.screen.query_one("#given").value = unit.address.text  # type: ignore[attr-defined]  # an input
        await there.press("enter")
        await there.sees("a stop reaches the unit in")
        await there.press("enter")
        await there.until(lambda: there.app.screen is there.app.walk)
        assert there.visit.link is not None
        assert there.app.who == WHO


@pytest.mark.asyncio
async def test_what_is_no_address_is_said_at_once_and_a_silent_one_is_asked_again(tmp_path: Path) -> None:
    """The other answers stand; B goes back without a line."""
    async with walking(tmp_path) as there:
        await at_the_questions(there)
        await there.type("none")
        await there.type("M. Mockford")
        await there.type("[b]nowhere")
        await there.sees("[b]nowhere")
        field = there.app.screen.query_one("#given")
        field.value = "tcp://127.0.0.1:9?unit=11"  # type: ignore[attr-defined]  # an input
        await there.press("enter")
        await there.sees("NOT CONNECTED")
        await there.press("enter")
        await there.sees("Address of the unit")
        await there.press("escape", "b")
        await there.until(lambda: there.app.screen is there.app.walk)
        assert there.visit.link is None


@pytest.mark.asyncio
async def test_r16_a_serial_line_that_is_not_there_is_said(tmp_path: Path) -> None:
    """Nothing is sent; the sentence names the device."""
    async with walking(tmp_path) as there:
        await at_the_questions(there)
        await there.type("none")
        await there.type("M. Mockford")
        there.app.screen.query_one("#given").value = "rtu:///dev/nothing?unit=11"  # type: ignore[attr-defined]  # an input
        await there.press("enter")
        await there.sees("/dev/nothing cannot be opened")


@pytest.mark.asyncio
async def test_a_practice_job_that_is_gone_on_with_gets_a_unit_of_its_own(tmp_path: Path) -> None:
    """Its old unit has ended with the program that started it: Enter alone starts one, and nobody's word is asked."""
    async with opened(tmp_path, connected=False) as there:
        started = []

        def start(sheet: Path, _speed: float, at: str) -> Beside:
            started.append((sheet.name, at))
            return Beside(there.unit.address.text, "127.0.0.1:9")

        there.app.desk._start_practice = start
        await there.show(ConnectScreen(there.visit))
        await there.until("Enter alone starts a practice unit")
        await there.press("enter")
        await there.until("XV-1101")
        for _ in range(200):
            if there.visit.link is not None:
                break
            await there.pilot.pause(0.02)
        assert there.visit.link is not None
        assert started == [("xv-1101.toml", "closed")]
        assert there.app.desk.hands is not None

"""The conversation, asked through the screens."""

import asyncio
from pathlib import Path

import pytest

from commission.procedures.requests import Ask
from commission.terminal.screens.connect import ConnectScreen
from tests.supervise.rig import demo_sheet, served
from tests.terminal.walking import walking


@pytest.mark.asyncio
async def test_a_line_that_is_needed_is_asked_for_and_read_from_then_on(tmp_path: Path) -> None:
    """The connect screen opens; once connected, all points are read beside the walk."""
    async with served(demo_sheet(), real_time=True) as unit, walking(tmp_path) as there:
        await there.start()
        visit = there.visit
        needed = asyncio.get_running_loop().create_task(there.app.speaker.line_needed(visit))
        await there.until(lambda: isinstance(there.app.screen, ConnectScreen))
        await there.sees("is another master on this line")
        await there.type("none")
        await there.type("M. Mockford")
        there.app.screen.query_one("#given").value = unit.address.text  # type: ignore[attr-defined]  # an input
        await there.press("enter")
        await there.sees("Enter goes on")
        await there.press("enter")
        await asyncio.wait_for(needed, 5)
        await there.until(lambda: visit.latest is not None)


@pytest.mark.asyncio
async def test_without_a_line_the_walk_waits_for_somebody(tmp_path: Path) -> None:
    """B goes back; Enter looks again."""
    async with walking(tmp_path) as there:
        await there.start()
        needed = asyncio.get_running_loop().create_task(there.app.speaker.line_needed(there.visit))
        await there.sees("is another master on this line")
        await there.press("escape", "b")
        await there.sees("Enter looks again")
        assert not needed.done()
        await there.press("enter")
        await asyncio.wait_for(needed, 5)


@pytest.mark.asyncio
async def test_what_was_not_taken_is_shown_as_it_is(tmp_path: Path) -> None:
    """Never as markup."""
    async with walking(tmp_path) as there:
        await there.start()
        there.app.speaker.problem("[b]no[/b]")
        await there.sees("[b]no[/b]")


@pytest.mark.asyncio
async def test_a_procedures_question_is_open_until_it_is_answered(tmp_path: Path) -> None:
    """The running test shows what is open; a test that ends takes its question away."""
    async with walking(tmp_path) as there:
        speaker = there.app.speaker
        asking = asyncio.get_running_loop().create_task(speaker.ask(Ask("q", "What?")))
        await there.until(lambda: speaker.question is not None)
        opened = speaker.question
        assert opened is not None
        opened.give("dry", "Tess", 5)
        assert (await asking).text == "dry"
        asking = asyncio.get_running_loop().create_task(speaker.ask(Ask("q", "What?")))
        await there.until(lambda: speaker.question not in (None, opened))
        asking.cancel()
        await asyncio.gather(asking, return_exceptions=True)
        assert speaker.question is None

"""A meter by wire, by keys: the practice unit's own with Enter alone, none again, and what is said where it fails."""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from commission.practice.bench import Terminal, instruments_of
from commission.practice.unit import PracticeUnit
from commission.procedures.requests import Ask
from commission.terminal.screens.meter import MeterScreen
from tests.supervise.rig import demo_sheet
from tests.terminal.beside import hands_at
from tests.terminal.prepared import Shown, flat, opened
from tests.terminal.walking import walking

READ = Ask("meter", "25 % up: meter M-03 in the loop, in mA", "number", "mA")


@contextlib.asynccontextmanager
async def bench(there: Shown) -> AsyncIterator[str]:
    """The practice unit's bench has a clamp, on a serial device of its own; which one."""
    terminal = Terminal(instruments_of(there.unit.desk.unit, 1)["M-03"], lambda: None)
    terminal.open()
    try:
        async with hands_at(there.app.desk, there.unit.desk) as beside:
            beside.meters["M-03"] = terminal.path
            yield terminal.path
            there.app.speaker.take_meter(None)
    finally:
        terminal.close()


@pytest.mark.asyncio
async def test_in_practice_enter_alone_opens_the_clamp_on_the_bench(tmp_path: Path) -> None:
    """I from the walk's side; from then on it answers for itself, until somebody types none."""
    async with opened(tmp_path) as there, bench(there) as device:
        await there.press("i")
        assert f"Enter alone opens M-03={device}" in flat(await there.text())
        await there.until("Readings are typed.")
        await there.press("enter")
        await there.until("M-03 says its own readings: ")
        answer = await there.app.speaker.ask_person(READ)
        assert answer.by == "instrument M-03"
        assert answer.value == pytest.approx(4.0, abs=0.05)
        await there.type_line("none")
        await there.until("Readings are typed.")
        asking = asyncio.get_running_loop().create_task(there.app.speaker.ask_person(READ))
        await there.pilot.pause()
        assert there.app.speaker.question is not None
        there.app.speaker.question.give("4.01", "Tess", 1)
        assert (await asking).by == "Tess"


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("M-03", "expected ID=DEVICE"),
        ("M-99=/dev/null", "with the id one of C-07, G-11, M-03"),
        ("M-03=/dev/nothing", "/dev/nothing cannot be opened"),
    ],
)
async def test_what_cannot_be_opened_says_why(tmp_path: Path, named: str, said: str) -> None:
    """And readings are typed as before; without a practice unit an empty line does nothing."""
    async with opened(tmp_path, connected=False) as there:
        await there.show(MeterScreen())
        text = await there.press("enter")
        assert "Enter alone" not in text
        await there.type_line(named)
        await there.until("NOT OPENED.")
        assert said in flat(await there.text())
        assert there.app.speaker.meter is None


@pytest.mark.asyncio
async def test_an_instrument_of_a_bench_is_refused_where_the_job_is_no_practice(tmp_path: Path) -> None:
    """It reads a practice unit's loop, whatever valve stands here."""
    terminal = Terminal(instruments_of(PracticeUnit(demo_sheet()), 1)["M-03"], lambda: None)
    terminal.open()
    try:
        async with walking(tmp_path) as there:
            await there.start()
            await there.press("escape", "i")
            there.app.screen.query_one("#given").value = f"M-03={terminal.path}"  # type: ignore[attr-defined]  # an input
            await there.press("enter")
            await there.sees("NOT OPENED. M-03 is a practice instrument")
            assert there.app.speaker.meter is None
    finally:
        terminal.close()


@pytest.mark.asyncio
async def test_its_key_is_shown_where_a_loop_is_read_and_only_there(tmp_path: Path) -> None:
    """At M1 the key line has it; at a step without a loop it has not."""
    async with walking(tmp_path) as there:
        await there.start()
        assert "meter by wire" not in there.text
        there.app.walk.show_step(there.visit, there.visit.job.checklist.step("M1"))
        await there.sees("I meter by wire")

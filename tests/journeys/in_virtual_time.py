"""
A whole visit from an answers file in virtual time: the practice unit with its site desk served in this very loop.

Nothing is left out but the waiting: real sockets, the real record, the people of the file at the real site desk. So it
does not matter how busy the machine is, and two visits can follow each other in one test.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

from commission.checklist import load_checklist
from commission.cli.answers_file import load_answers
from commission.cli.crew import Crew
from commission.cli.site import Site
from commission.content import checklists_folder, read_text
from commission.face.dialogue import walk
from commission.practice.serve import ServedAt, serve
from commission.practice.setup import Setup, setup_of
from commission.sheet import load_sheet
from commission.visit import Visit
from commission.visit.again import begin_again
from tests.supervise.rig import hold_time_while
from tests.virtual_time import virtual_clock

SPEED = 60.0
"""As fast as a practice unit goes: each second of its time is polled seven times as often as over a wire."""


@contextlib.asynccontextmanager
async def practising(
    sheet: Path, *, scenario: str = "", setup: Setup | None = None, url: str = "tcp://127.0.0.1:0"
) -> AsyncIterator[ServedAt]:
    """A practice unit as `commission practice --serve` serves it."""
    loop = asyncio.get_running_loop()
    loaded = load_sheet(sheet)[0]
    stop, ready = asyncio.Event(), loop.create_future()
    serving = loop.create_task(
        serve(
            loaded,
            url,
            speed=SPEED,
            seed=1,
            clock=virtual_clock(),
            on_ready=ready.set_result,
            stop=stop,
            setup=setup or setup_of(loaded, scenario),
        )
    )
    try:
        yield await ready
    finally:
        stop.set()
        await serving


async def retested(
    earlier: Path,
    new: Path,
    unit: ServedAt,
    told: list[str],
    more: Path | None = None,
    checklist: str = "retest.toml",
) -> Visit:
    """
    Walk the packed re-test beside an earlier job to its end; the visit is closed.

    Args:
        earlier: The job of the earlier visit.

        new: The new job's file.

        unit: Where the unit is.

        told: What was said goes here.

        more: Answers other than the packed ones.

        checklist: Which packed one is walked.
    """
    folder = checklists_folder()
    answers = load_answers(more or folder / "practice" / "xv-1101-retest.toml")[0]
    crew = Crew(answers, Site(unit.control), tell=told.append)
    texts = load_checklist(folder / checklist)[1]
    visit = begin_again(earlier, new, texts, virtual_clock(), crew, "program")
    hold_time_while(lambda: visit._book.recorder.busy)
    try:
        await visit.connect(unit.url, other_master="none: a practice unit", agreed_by="nobody: practice", by="program")
        await walk(visit, crew)
    finally:
        await visit.close("the visit is over")
    return visit


async def commissioned(sheet: Path, job: Path, told: list[str], *, scenario: str = "") -> None:
    """
    Walk the packed commissioning of a practice unit to its end; the visit is closed.

    Args:
        sheet: Its sheet, by whose name its answers are filed.

        job: The new job's file.

        told: What was said goes here.

        scenario: What is not as the sheet says.
    """
    folder = checklists_folder()
    answers = load_answers(folder / "practice" / sheet.name)[0]
    async with practising(sheet, scenario=scenario) as unit:
        crew = Crew(answers, Site(unit.control), tell=told.append)
        texts = load_checklist(folder / "commissioning.toml")[1]
        visit = Visit.begin(job, read_text(sheet), texts, virtual_clock(), crew, "program")
        hold_time_while(lambda: visit._book.recorder.busy)
        try:
            if unit.url:  # no link reads some units
                await visit.connect(unit.url, other_master="none: a practice unit", agreed_by="practice", by="program")
            await walk(visit, crew)
        finally:
            await visit.close("the visit is over")

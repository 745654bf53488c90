"""M1 by keys: what the running test shows of a point, answers without a field, the go, and the stop all the same."""

import asyncio
from pathlib import Path

import pytest

from commission.job import bodies
from commission.practice.bench import Terminal, instruments_of
from commission.record.reader import Reader
from tests.journeys.test_span import NEAR_BY
from tests.terminal.beside import hands_at
from tests.terminal.moving_app import PATIENCE_S, AppThere, app_at
from tests.visiting import CHECKLIST, TESS

pytestmark = [pytest.mark.asyncio, pytest.mark.long]


async def typed(there: AppThere, text: str) -> None:
    """A number and Enter; no field has the focus."""
    assert there.app.focused is None
    await there.pilot.press(*("full_stop" if letter == "." else letter for letter in text), "enter")


async def test_a_span_by_keys(tmp_path: Path) -> None:
    """Asked, settled, taken; Enter and yes move nothing, M does after its countdown; SPACE holds the valve."""
    async with app_at(tmp_path, steps=CHECKLIST + NEAR_BY, speed=8.0) as there:
        visit = there.there.visit
        visit.record(bodies.StepBegun(step="K9", cautions=("pinch",)), TESS)
        for question, text, value in (("meter", "M-03", None), ("accuracy", "0.02 mA", None), ("scale", "0.1", 0.1)):
            visit.record(bodies.Answered(step="K9", question=question, text=text, value=value), TESS)
        running = asyncio.get_running_loop().create_task(there.there.run("K9"))
        showing = asyncio.get_running_loop().create_task(there.app.speaker.moving(visit, running))

        await there.until(lambda: "0 % up: stem's scale" in there.shown(), "the first question")
        shown = there.shown()
        assert "settled: 0 % up" in shown
        assert "register 4.0" in shown
        assert "feedback 4.0" in shown or "feedback 3.9" in shown
        await typed(there, "0")
        await there.until(lambda: "meter M-03 in the loop" in there.shown(), "the meter's question")
        await typed(there, "4.00")
        await there.until(lambda: "taken: 0 % up" in there.shown(), "what was taken")
        await there.until(lambda: "Hands and tools out of the yoke?" in there.shown(), "the go")

        await there.pilot.press("enter", "y")
        await asyncio.sleep(0.3)
        assert there.truth()["travel_pct"] < 0.5
        await there.pilot.press("m")
        await there.until(lambda: there.truth()["travel_pct"] > 2, "the valve to move")
        await there.until(lambda: "6 % up: stem's scale" in there.shown(), "the second point")

        await there.pilot.press("4", "space")
        await asyncio.wait({running}, timeout=PATIENCE_S)
        assert running.result().how == "stopped"
        held = there.truth()["travel_pct"]
        assert 5 < held < 30  # a busy machine stops it late at eight times speed; it is read where it stands
        await there.until(lambda: "S T O P P E D" in there.shown(), "the result")
        await there.pilot.press("enter")
        await showing


async def test_a_span_by_keys_with_the_practice_meter_by_wire(tmp_path: Path) -> None:
    """I and Enter open the clamp on the bench; nobody types a current, and the record names the instrument."""
    async with app_at(tmp_path, steps=CHECKLIST + NEAR_BY, speed=8.0) as there:
        visit = there.there.visit
        unit = there.there.unit.desk
        terminal = Terminal(instruments_of(unit.unit, 1)["M-03"], lambda: None)
        terminal.open()
        try:
            async with hands_at(there.app.desk, unit) as beside:
                beside.meters["M-03"] = terminal.path
                await there.pilot.press("i")
                await there.until(lambda: "Enter alone opens M-03=" in there.shown(), "the practice meter")
                await there.pilot.press("enter")
                await there.until(lambda: "M-03 says its own readings" in there.shown(), "the meter")
                await there.pilot.press("escape", "escape")
                await read_stems_only(there)
        finally:
            terminal.close()
        run = visit.job.runs["K9-1"]
        assert [result.verdict for result in run.results] == ["pass"]
        assert len([figure for figure in run.figures if figure.name.startswith("loop_current")]) == 3
    with Reader(visit.path) as reader:
        said = [event for event in reader.events() if event.kind == "procedure_answered"]
    currents = [event for event in said if event.body["question"] == "meter"]
    assert [event.by for event in currents] == ["instrument M-03"] * 3
    assert {event.by for event in said if event.body["question"] == "stem"} == {there.app.who}


async def read_stems_only(there: AppThere) -> None:
    """M1 at three points near by: the stem is typed, the go is given, and that is all."""
    visit = there.there.visit
    visit.record(bodies.StepBegun(step="K9", cautions=("pinch",)), TESS)
    for question, text, value in (("meter", "M-03", None), ("accuracy", "0.02 mA", None), ("scale", "0.1", 0.1)):
        visit.record(bodies.Answered(step="K9", question=question, text=text, value=value), TESS)
    running = asyncio.get_running_loop().create_task(there.there.run("K9"))
    showing = asyncio.get_running_loop().create_task(there.app.speaker.moving(visit, running))
    for point in (0, 6, 12):
        if point:
            await there.until(lambda: "Hands and tools out of the yoke?" in there.shown(), "the go")
            await there.pilot.press("m")
        await there.until(lambda at=point: f"{at} % up: stem's scale" in there.shown(), f"the stem at {point} %")  # type: ignore[misc]  # bound now
        stem = float(there.there.unit.desk.read("stem"))
        await typed(there, f"{stem:.1f}")
    await asyncio.wait({running}, timeout=PATIENCE_S)
    assert running.result().how == "finished"
    await there.until(lambda: "P A S S" in there.shown(), "the result")
    await there.pilot.press("enter")
    await showing

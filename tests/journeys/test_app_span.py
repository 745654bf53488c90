"""M1 by keys: what the running test shows of a point, answers without a field, the go, and the stop all the same."""

import asyncio
from pathlib import Path

import pytest

from commission.job import bodies
from tests.journeys.test_span import NEAR_BY
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

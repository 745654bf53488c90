"""The running test on the screen at both sizes, over a real stroke of a real practice unit."""

import asyncio
from pathlib import Path

import pytest

from commission.analysis.baseline import Baseline
from commission.job.bodies import BaselineSet
from commission.practice.condition import Condition
from commission.terminal.console import Console
from commission.terminal.screens.motion import MotionScreen
from tests.again import of_this_unit
from tests.analysis.partials import baseline
from tests.terminal.moving_app import PATIENCE_S, app_at
from tests.visiting import CHECKLIST, TESS

pytestmark = [pytest.mark.asyncio, pytest.mark.slow]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_r11_everything_of_a_motion_is_on_one_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    """Test and time, limits and how near, readings, and what the stop key does; no line is cut."""
    async with app_at(tmp_path, size=size, speed=5.0) as there, there.stroke(0.5):
        await there.until(lambda: "MOVING" in there.shown(), "the running test")
        shown = there.shown()
        for words in (
            "K1-open 1", "s of at most", "travel ", "Limits ", "motor run", "of 300 s", "Watched ", "SPACE sends STOP",
            "Local: ESD button, north panel",
        ):  # fmt: skip
            assert words in shown, shown
        assert there.app.screen.query_one("#pressure").display is (size[1] >= 32)


async def test_a_plain_console_gets_letters_only(tmp_path: Path) -> None:
    """No character outside ASCII in the trace where the console can't do better."""
    plain = Console(colour=False, drawing=False)
    async with app_at(tmp_path, shows=plain, speed=5.0) as there, there.stroke(0.5):
        await there.until(lambda: "*" in there.shown(), "the trace in letters")
        trace = there.app.screen.query_one("#travel")
        lines = [there.shown().splitlines()[y] for y in range(trace.region.y, trace.region.bottom)]
        assert all(line.isascii() for line in lines), lines


async def test_what_a_test_tells_the_people_at_the_valve_stands_out(tmp_path: Path) -> None:
    """The newest last; the bell rings once for each."""
    async with app_at(tmp_path, speed=5.0) as there, there.stroke(0.5):
        rung: list[None] = []
        there.app.bell = lambda: rung.append(None)  # type: ignore[method-assign]  # who counts
        screen = there.app.screen
        assert isinstance(screen, MotionScreen)
        screen._tell(("LOCAL seen",))
        screen._tell(("LOCAL seen", "now REMOTE [b]"))
        screen._tell(("LOCAL seen", "now REMOTE [b]"))
        await there.until(lambda: "now REMOTE [b]" in there.shown(), "what is said")
        assert "LOCAL seen" in there.shown()
        assert len(rung) == 2


async def test_a_key_that_does_nothing_now_says_so_at_once(tmp_path: Path) -> None:
    """Whatever it does elsewhere, here it is named, the stop stays in sight, and nothing else happens."""
    async with app_at(tmp_path, speed=5.0) as there, there.stroke(0.5):
        for key, name in (("p", "P"), ("question_mark", "?"), ("x", "X")):
            await there.pilot.press(key)
            await there.until(lambda name=name: f"{name} does nothing while the valve moves" in there.shown(), name)  # type: ignore[misc]  # bound now
            assert "SPACE stop" in there.shown()
        await there.until(lambda: "does nothing" not in there.shown(), "the usual keys")
        assert there.there.visit.in_motion
        assert there.stops() == []


async def test_r11_the_stop_key_is_said_to_be_seen_each_time(tmp_path: Path) -> None:
    """At once, before the unit has said anything; pressed again, it is counted."""
    async with app_at(tmp_path, speed=5.0) as there, there.stroke(0.5) as running:
        there.there.unit.server.deaf = True
        await there.pilot.press("space")
        await there.until(lambda: "SPACE seen 1 x" in there.shown(), "that it was seen")
        await there.pilot.press("space")
        await there.until(lambda: "SPACE seen 2 x" in there.shown(), "that it was seen again")
        there.there.unit.server.deaf = False
        await there.ended(running)


PARTIAL = (
    CHECKLIST.replace('{ id = "K", name', '{ id = "L", name = "partial stroke" }, { id = "K", name')
    + """
[[steps]]
id = "L2"
title = "Make one partial stroke"
state = "live"
moves = true
do = "Make it."
cautions = ["pinch"]
procedures = [{ name = "partial_stroke", arguments = { compared = "no", steady_s = "2" } }]
"""
)


@pytest.mark.long
async def test_r11_in_a_partial_stroke_r_brings_the_valve_back(tmp_path: Path, kept: Baseline) -> None:
    """Both keys are named; R returns it at the unit, and it is watched home."""
    async with app_at(tmp_path, speed=5.0, steps=PARTIAL) as there:
        there.there.opened_at_the_panel()
        visit = there.there.visit
        visit.record(BaselineSet(baseline=kept, signed_by="Piet Exampler"), TESS)
        loop = asyncio.get_running_loop()
        running = loop.create_task(there.there.run("L2"))
        showing = loop.create_task(there.app.speaker.moving(visit, running))
        await there.until(lambda: there.truth()["travel_pct"] < 98, "the valve to move")
        await there.until(lambda: "SPACE sends STOP, R RETURN" in there.shown(), "both keys")
        await there.pilot.press("r")
        ended = await there.ended(running)
        assert (ended.how, ended.safe_end.seen) == ("stopped", "confirmed")
        assert there.truth()["open_limit"]
        assert not there.stops()
        while not showing.done():
            if type(there.app.screen).__name__ == "ResultScreen":
                await there.pilot.press("enter")
            await asyncio.sleep(0.02)
        await showing


@pytest.mark.long
async def test_a_rerun_shows_pressures_and_times_beside_the_baseline(tmp_path: Path, kept: Baseline) -> None:
    """A valve that has become stiff: pass, watch, with what it was before beside each figure; Enter goes on."""
    steps = PARTIAL.replace('compared = "no"', 'compared = "yes"')
    stiff = Condition(friction_factor=1.45)
    async with app_at(tmp_path, speed=5.0, steps=steps, condition=stiff) as there:
        there.there.opened_at_the_panel()
        visit = there.there.visit
        visit.record(BaselineSet(baseline=of_this_unit(visit.job.sheet, kept), signed_by="Piet Exampler"), TESS)
        loop = asyncio.get_running_loop()
        running = loop.create_task(there.there.run("L2"))
        showing = loop.create_task(there.app.speaker.moving(visit, running))
        await asyncio.wait({running}, timeout=4 * PATIENCE_S)
        assert running.result().how == "finished", running.result()
        await there.until(lambda: "P A S S ,   W A T C H" in there.shown(), "the verdict")
        assert "Watch" in there.shown()
        await there.pilot.press("pagedown")
        await there.until(lambda: "baseline beside it" in there.shown(), "the figures")
        await there.pilot.press("enter")
        await showing
        assert visit.job.runs["L2-1"].results[0].settles.startswith("out pressure 5 % 44.")


@pytest.fixture(scope="module")
def kept() -> Baseline:
    """Made before any event loop runs: its strokes have a loop of their own."""
    return baseline()

"""The wiring proof on the screen, over a real practice unit whose contacts are operated while it shows."""

import asyncio
from pathlib import Path

import pytest

from commission.procedures.requests import Ask
from commission.supervise.order import MotionView
from commission.terminal.question import OpenQuestion
from commission.terminal.screens.wiring import WiringScreen, called, contact_lines, only_looks
from tests.rules.test_r17_watching import STEPS
from tests.terminal.moving_app import AppThere, app_at

pytestmark = [pytest.mark.asyncio]

SAID = (
    "Nobody touches anything: everything is watched for two seconds",
    "NEXT  Turn the selector to LOCAL",
    "SEEN  selector local or off",
    "NEXT  Turn the selector back to REMOTE",
)


async def in_control(there: AppThere) -> "asyncio.Task[object]":
    """The proof of the selector begun, and shown."""
    there.there.arrive()
    there.there.cross("in operation", "locked", "control")
    loop = asyncio.get_running_loop()
    running = loop.create_task(there.there.run("I2"))
    await asyncio.sleep(0.05)
    assert only_looks(there.there.visit)
    showing = loop.create_task(there.app.speaker.moving(there.there.visit, running))
    await there.until(lambda: isinstance(there.app.screen, WiringScreen), "the proof")
    return showing


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_r17_what_to_work_stands_big_and_the_screen_moves_on_by_itself(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    """A contact is worked at the unit: a beep, what was seen, and the next call; no key is pressed."""
    async with app_at(tmp_path, size=size, speed=10.0, live=False, steps=STEPS) as there:
        showing = await in_control(there)
        rung: list[None] = []
        there.app.bell = lambda: rung.append(None)  # type: ignore[method-assign]  # who counts
        await there.until(lambda: "TURN THE SELECTOR TO LOCAL" in there.shown(), "the first call")
        shown = there.shown()
        for words in (
            "watching, hands free",
            "selector: remote",
            "ESD loop: healthy",
            "SPACE ends the watch. Local: ESD button, north panel",
        ):
            assert words in shown, shown
        there.there.unit.desk.act("selector", "LOCAL")
        await there.until(lambda: "TURN THE SELECTOR BACK TO REMOTE" in there.shown(), "the next call")
        assert "SEEN  selector local or off" in there.shown()
        assert len(rung) >= 2
        there.there.unit.desk.act("selector", "REMOTE")
        await there.until(lambda: "LIFT THE LEVEL SWITCH'S FLOAT" in there.shown(), "the float")
        await there.pilot.press("space")
        await there.until(lambda: type(there.app.screen).__name__ == "ResultScreen", "the result")
        await there.pilot.press("enter")
        await showing
        assert there.there.visit.job.runs["I2-1"].results[0].verdict == "stopped"
        assert not [frame for frame in there.there.unit.server.frames if frame.is_write]


@pytest.mark.slow
async def test_the_line_that_is_typed_into_is_in_sight_in_a_small_window(tmp_path: Path) -> None:
    """However much was seen, and however long it is asked what the controller reads aloud."""
    asked = (
        "Lift the level switch's float by its test rod: the controller reads aloud text and time, as: NOT AVAILABLE "
        "14:02:11. Begin with wrong, where it is another tag or the opposite"
    )
    async with app_at(tmp_path, size=(80, 24), speed=10.0, live=False, steps=STEPS) as there:
        showing = await in_control(there)
        supervisor = there.there.visit.supervisor
        assert supervisor is not None
        await there.until(lambda: "TURN THE SELECTOR TO LOCAL" in there.shown(), "the first call")
        assert supervisor._motion is not None
        for number in range(4):
            words = (
                f"SEEN  number {number} at the unit: selector local or off, not in automatic alarm active. Controller?"
            )
            supervisor._motion.note(words, loud=True)
        there.app.speaker.at_keys.question = OpenQuestion(Ask("float controller", asked))
        for_the_hand = ("number 3", "Begin with wrong", "Enter, then type")
        await there.until(lambda: all(words in there.shown() for words in for_the_hand), "the question")
        await there.pilot.press("enter", "x")
        await there.until(lambda: "> x_" in there.shown(), "the line")
        await there.pilot.press("escape", "space")
        await there.until(lambda: type(there.app.screen).__name__ == "ResultScreen", "the result")
        await there.pilot.press("enter")
        await showing


async def test_only_the_call_is_big_and_findings_stand_below() -> None:
    """What is seen never hides what is to be done next."""
    assert called(SAID) == ("Turn the selector back to REMOTE", ("SEEN  selector local or off",))
    assert called(()) == ("", ())
    assert called(SAID[:1])[0] == SAID[0]


async def test_contacts_are_words_and_a_silent_unit_shows_none() -> None:
    """Old contacts are never shown as now (safety rule R18)."""
    from commission.sample import Silence
    from commission.sheet.decode import Reading, Readings

    bits = {"remote": 1.0, "alarm_fluid": 0.0, "alarm_supply": 1.0, "alarm_relay": 0.0, "travel": 0.5}
    readings = Readings(1, 5, {role: Reading(value, 5, 1) for role, value in bits.items()})
    view = MotionView("I2 1", "I2", 0, latest=readings)
    assert contact_lines(view, 80) == "selector: remote   supply alarm: active   alarm relay: alarm"
    assert contact_lines(view, 30).splitlines() == ["selector: remote", "supply alarm: active", "alarm relay: alarm"]
    silent = MotionView("I2 1", "I2", 0, latest=readings, silence=Silence(2, 5, 9, "no answer"))
    assert "NO ANSWER" in contact_lines(silent, 80)
    assert "selector" not in contact_lines(silent, 80)
    assert contact_lines(MotionView("I2 1", "I2", 0), 80) == ""

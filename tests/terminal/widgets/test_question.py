"""A procedure's question in a running test: answered without a field; SPACE stops all the same, G is the gas alarm."""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from pathlib import Path

import msgspec
import pytest
from textual.events import Key

from commission.procedures.requests import Answer, Ask
from tests.terminal.moving_app import AppThere, app_at

pytestmark = [pytest.mark.asyncio, pytest.mark.slow]

CURRENT = Ask("at 25", "What does the calibrator show at 25 %?", "number", "mA")


@contextlib.asynccontextmanager
async def asking(there: AppThere, question: Ask) -> AsyncIterator["asyncio.Task[Answer]"]:
    """The question of a procedure, asked in a running test."""
    task = asyncio.get_running_loop().create_task(there.app.speaker.ask(question))
    try:
        await there.until(lambda: question.text[:40] in there.shown(), "the question")
        yield task
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


KINDS = {
    "a number": (CURRENT, ("8", "comma", "x", "enter", "backspace", "0", "2", "enter"), "8,02"),
    "yes or no": (Ask("seen", "Has the lamp come on?", "yes"), ("n",), "no"),
    "a go": (Ask("go", "Hands out of the yoke?", "go"), ("enter", "y", "m"), "go"),
    "any key": (Ask("cancel", "Any key cancels.", "key"), ("x",), "x"),
    "words": (Ask("words", "What do you see?"), ("enter", "g", "underscore", "u", "enter"), "g u"),
}


@pytest.mark.parametrize(
    "kind", [kind if kind in ("a number", "a go") else pytest.param(kind, marks=pytest.mark.long) for kind in KINDS]
)
async def test_each_kind_is_answered_by_keys_while_the_valve_moves(tmp_path: Path, kind: str) -> None:
    """What is no answer is said and asked still; the answer is given without a field, and stops nothing."""
    question, keys, text = KINDS[kind]
    async with app_at(tmp_path, speed=1.0) as there, there.stroke(0.1) as running, asking(there, question) as task:
        for key in keys:
            assert there.app.focused is None
            assert not task.done()
            there.app.post_message(Key(key, {"comma": ",", "underscore": "_"}.get(key, key if len(key) == 1 else None)))
            await there.pilot.pause(0.05)
            if key == "x":
                await there.until(lambda: "= 8" not in there.shown(), "it is no number")
        assert (await asyncio.wait_for(task, 10)).text == text
        assert not running.done()
        await there.until(lambda: question.text not in there.shown(), "the question to go")


@pytest.mark.parametrize("keys", [("4", "space"), pytest.param(("space",), marks=pytest.mark.long)])
async def test_r11_the_stop_key_stops_whatever_is_typed(tmp_path: Path, keys: tuple[str, ...]) -> None:
    """In a number half typed as much as before it; the stop reaches the unit."""
    async with app_at(tmp_path, speed=1.0) as there, there.stroke(0.1) as running, asking(there, CURRENT):
        await there.pilot.press(*keys)
        assert (await there.ended(running)).how == "stopped"
        assert there.stops()


@pytest.mark.long
async def test_r11_the_stop_key_stops_while_words_are_typed(tmp_path: Path) -> None:
    """A blank is no letter here."""
    question = Ask("words", "What do you see?")
    async with app_at(tmp_path, speed=1.0) as there, there.stroke(0.1) as running, asking(there, question):
        await there.pilot.press("enter", "a", "space")
        assert (await there.ended(running)).how == "stopped"


async def test_r07_the_gas_alarm_is_one_key_while_a_number_is_asked(tmp_path: Path) -> None:
    """And after Esc while words are typed."""
    async with app_at(tmp_path, speed=1.0) as there, there.stroke(0.1) as running, asking(there, CURRENT):
        await there.pilot.press("4", "g")
        assert (await there.ended(running)).how == "stopped"
        assert there.there.visit.job.energy_log.now.state.value == "unknown"


@pytest.mark.long
async def test_the_line_that_is_typed_into_is_in_sight_in_a_small_window(tmp_path: Path) -> None:
    """Whatever else is shown: a long question, things told to the people at the valve, a stop that is awaited."""
    question = Ask("long", "What does the meter in the loop show now, " * 3, "number", "mA")
    async with app_at(tmp_path, speed=1.0) as there, there.stroke(0.1):
        supervisor = there.there.visit.supervisor
        assert supervisor is not None
        for number in range(4):
            assert supervisor._motion is not None
            supervisor._motion.note(f"told to the people at the valve, number {number}", loud=True)
        async with asking(there, Ask("short", "What?", "number", "mA")):
            await there.until(lambda: "> _" in there.shown(), "the line")
        async with asking(there, msgspec.structs.replace(question, text=question.text[:150])) as task:
            await there.until(lambda: "> _" in there.shown(), "the line")
            assert "number 3" in there.shown()
            assert "Limits" in there.shown()
            assert not task.done()

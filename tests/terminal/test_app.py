"""The stop key of the app, found at the unit whatever is on the screen; and what else the app takes before a screen."""

import asyncio
from pathlib import Path
from typing import ClassVar

import pytest
from textual import events
from textual.screen import Screen
from textual.widgets import Input

from commission.terminal.app import CommissionApp
from commission.terminal.screens.help import HelpScreen
from commission.terminal.screens.motion import MOST_POINTS, MotionScreen
from tests.terminal.moving_app import AppThere, FieldOnTop, app_at, now_s

AT_THE_UNIT_S = 1.0
"""A loaded machine's worth of time for a key to reach the unit; the time promised on the screen is benchmarked."""

pytestmark = [pytest.mark.asyncio, pytest.mark.slow]


class WithPalette(CommissionApp):
    """The app as it would be with the library's palette on."""

    ENABLE_COMMAND_PALETTE: ClassVar[bool] = True


async def nothing_on_top(_there: AppThere) -> None:
    """Only the running test."""


async def field_focused(there: AppThere) -> None:
    """A field got onto the screen and has the focus."""
    field = Input(id="stray")
    await there.app.screen.mount(field)
    field.focus()
    await there.pilot.pause()
    assert there.app.field_focused


async def dialog_with_field(there: AppThere) -> None:
    """A dialog with a field is on top."""
    await there.app.push_screen(FieldOnTop())
    await there.pilot.pause()
    assert there.app.field_focused


async def palette_open(there: AppThere) -> None:
    """The palette is open."""
    there.app.action_command_palette()
    await there.pilot.pause()
    assert "CommandPalette" in type(there.app.screen).__name__


async def help_over_it(there: AppThere) -> None:
    """The help got over the running test, as no key can bring it."""
    await there.app.push_screen(HelpScreen())
    await there.pilot.pause()


async def drawing_2000_points(there: AppThere) -> None:
    """The traces are as long as they get, and are drawn again and again."""
    screen = there.app.screen
    assert isinstance(screen, MotionScreen)
    screen._travel.extend((i / 100, 50 + 40 * (i % 7) / 7) for i in range(MOST_POINTS))
    screen.set_interval(0.1, lambda: screen.query_one("#travel").show(screen._travel))  # type: ignore[attr-defined]  # a Trace


SITUATIONS = [nothing_on_top, field_focused, dialog_with_field, palette_open, help_over_it, drawing_2000_points]


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda situation: situation.__name__)
async def test_r11_the_stop_key_is_found_at_the_unit(tmp_path: Path, situation: object) -> None:
    """Whatever has the focus: one key, STOP at the unit, the pump off, the valve seen at rest."""
    app_class = WithPalette if situation is palette_open else CommissionApp
    async with app_at(tmp_path, app_class) as there, there.stroke() as running:
        await situation(there)  # type: ignore[operator]  # one of the functions above
        on_top: Screen[object] = there.app.screen
        assert there.stops() == []
        pressed_s = now_s()
        await there.pilot.press("space")
        await there.until(there.stops, "STOP at the unit")
        assert now_s() - pressed_s < AT_THE_UNIT_S
        ended = await there.ended(running)
        assert (ended.how, ended.safe_end.seen) == ("stopped", "confirmed")
        assert not there.truth()["pump_on"]
        for field in on_top.query(Input):
            assert field.value == ""
        if on_top is not there.app.screen or situation in (dialog_with_field, palette_open):
            while isinstance(there.app.screen, FieldOnTop) or "Palette" in type(there.app.screen).__name__:
                there.app.pop_screen()


async def test_r11_pressed_again_and_again_it_stays_a_stop(tmp_path: Path) -> None:
    """Ten times in a row: STOP at the unit, one end, one record of it."""
    async with app_at(tmp_path) as there, there.stroke() as running:
        for _ in range(10):
            await there.pilot.press("space")
        ended = await there.ended(running)
        assert ended.safe_end.seen == "confirmed"
        assert there.stops()
        assert not there.truth()["pump_on"]


async def test_r10_on_a_silent_link_it_says_that_it_is_not_confirmed(tmp_path: Path) -> None:
    """Nothing is believed that was not seen: NOT CONFIRMED, stay clear, where the local stop is."""
    async with app_at(tmp_path) as there, there.stroke() as running:
        there.there.unit.server.deaf = True
        pressed_s = asyncio.get_running_loop().time()
        await there.pilot.press("space")
        await there.until(there.stops, "STOP at the unit, which answers nothing")
        assert there.stops()[0].at_s - pressed_s < AT_THE_UNIT_S
        await there.until(lambda: "not seen at rest yet" in there.shown(), "what became of the stop so far")
        await there.until(lambda: len(there.stops()) >= 3, "STOP again and again")
        ended = await there.ended(running)
        assert ended.safe_end.seen == "unconfirmed"
        await there.until(lambda: "NOT CONFIRMED" in there.shown(), "the outcome")
        assert "Stay clear" in there.shown()
        there.there.unit.server.deaf = False


@pytest.mark.parametrize("key", ["ctrl+c", "ctrl+q"])
async def test_quitting_in_motion_is_a_stop_first(tmp_path: Path, key: str) -> None:
    """The keys that end the program end the motion, and the program stays."""
    async with app_at(tmp_path) as there, there.stroke() as running:
        await there.pilot.press(key)
        ended = await there.ended(running)
        assert ended.how == "stopped"
        assert there.app.is_running
        assert there.stops()


async def test_r07_gas_alarm_works_in_motion(tmp_path: Path) -> None:
    """One key: stop, record, leave; the energy state is unknown."""
    async with app_at(tmp_path) as there, there.stroke() as running:
        there.app.post_message(events.Key("g", "g"))
        await there.ended(running)
        assert there.stops()
        assert there.there.visit.job.energy_log.now.state.value == "unknown"


async def test_no_other_screen_opens_in_motion(tmp_path: Path) -> None:
    """Keys that lead elsewhere do nothing while the valve moves, and the test's screen has no field."""
    async with app_at(tmp_path, speed=5.0) as there, there.stroke(0.5):
        before = there.app.screen
        await there.pilot.press("p", "w", "q", "question_mark")
        assert there.app.screen is before
        assert there.app.focused is None
        assert not list(before.query(Input))
        assert there.there.visit.in_motion


async def test_r08_without_a_motion_it_sends_stop_and_says_so(tmp_path: Path) -> None:
    """Any state, unarmed: the frame is at the unit, the screen says what became of it."""
    async with app_at(tmp_path, live=False) as there:
        await there.pilot.press("space")
        await there.until(there.stops, "STOP at the unit")
        await there.until(lambda: "STOP sent and answered" in there.shown(), "the answer on the screen")


async def test_a_space_in_a_field_is_a_space(tmp_path: Path) -> None:
    """Without a motion a field gets its spaces, and nothing is sent."""
    async with app_at(tmp_path, live=False) as there:
        await there.app.push_screen(FieldOnTop())
        await there.pilot.press("T", ".", "space", "P")
        assert there.app.screen.query_one(Input).value == "T. P"
        await asyncio.sleep(0.2)
        assert there.stops() == []


async def test_r08_a_stop_that_is_not_answered_is_said(tmp_path: Path) -> None:
    """A silent unit: NOT ANSWERED, and where the local stop is."""
    async with app_at(tmp_path, live=False) as there:
        there.there.unit.server.deaf = True
        await there.pilot.press("space")
        await there.until(lambda: "STOP NOT ANSWERED" in there.shown(), "that it was not answered")
        assert "north panel" in there.shown()
        there.there.unit.server.deaf = False


async def test_the_palette_is_off(tmp_path: Path) -> None:
    """Nothing of the library's own can be called up."""
    async with app_at(tmp_path, live=False) as there:
        before = there.app.screen
        await there.pilot.press("ctrl+p")
        assert there.app.screen is before

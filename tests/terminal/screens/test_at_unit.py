"""At the unit: what is seen and done there by one or two keys, also in motion, and never at a unit not started here."""

from pathlib import Path

import pytest

from commission.job.bodies import WaitShortened
from commission.procedures.requests import Ask
from commission.terminal.question import OpenQuestion
from commission.terminal.screens.at_unit import AtUnitScreen
from tests.terminal.beside import hands_at
from tests.terminal.moving_app import app_at
from tests.terminal.prepared import LETTERS, opened
from tests.visiting import TESS

pytestmark = pytest.mark.asyncio


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_two_keys_do_a_thing_and_it_is_seen(tmp_path: Path, size: tuple[int, int]) -> None:
    """H, the place, the thing: the motor's isolator is off at the unit, and the screen shows it."""
    async with opened(tmp_path, size=size) as there, hands_at(there.app.desk, there.unit.desk):
        await there.show(there.app.walk)
        assert "H unit" in await there.text()
        await there.press("h")
        await there.until("Where do you put your hands?")
        shown = await there.press("1")
        assert "1  switch OFF and lock, motor: isolator IS-1101M" in shown
        await there.press("1")
        shown = await there.until("IS-1101M locked")
        assert "Done: switch OFF and lock, motor" in shown
        assert there.unit.desk.unit.side.motor_isolator is False
        assert "1  take the lock off, switch ON, motor" in shown
        await there.press("escape")
        assert "Where do you put your hands?" in await there.text()
        await there.press("escape")
        assert there.app.screen is there.app.walk


async def test_an_amount_is_typed_and_what_is_none_is_said(tmp_path: Path) -> None:
    """The hand pump up to a pressure; Esc leaves it."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        await there.show(AtUnitScreen())
        await there.until("Where do you put your hands?")
        await there.press("4", "1")
        await there.until("bar on the gauge, then Enter")
        await there.press("minus", "minus", "enter")
        assert "is no number" in await there.text()
        await there.press("backspace", "backspace", "4", "0", "enter")
        await there.until("Done: pump by hand, until the gauge shows ... 40")
        assert not there.unit.desk.unit.side.hand_lever_stowed
        await there.press("1", "escape")
        assert "bar on the gauge" not in await there.text()


@pytest.mark.parametrize(
    "asked",
    [
        "Press the local stop (ESD button, north panel). (Type done where nothing is seen; or: cannot, and why)",
        "Press RESET at the unit. Still: end of travel not reached active, alarm relay alarm. (Type leave to go on)",
    ],
)
async def test_every_place_and_all_of_the_panel_is_in_sight_while_a_test_asks(tmp_path: Path, asked: str) -> None:
    """In the smallest window, in control with the bleeds open: the ESD button stands last, and is what is asked for."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        desk = there.unit.desk
        for act, value in (("motor_isolator", False), ("accumulator_valve", False), ("all_bleeds", True)):
            desk.act(act, value)
        there.app.speaker.at_keys.question = OpenQuestion(Ask("asked", asked))
        await there.show(AtUnitScreen())
        await there.until("9  pipeline, weather and the rest")
        shown = await there.text()
        assert all(f" {number}  " in shown for number in range(1, 10))
        assert asked[:40] in shown
        assert "Type" not in shown
        await there.press("3")
        await there.until("7  press the ESD button")
        assert asked[:40] in await there.text()


async def test_every_act_of_every_place_is_in_sight_in_the_smallest_window(tmp_path: Path) -> None:
    """Also while a test asks and a lock is on: what is seen gives way, and no act stands below the edge."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        for act, value in (("motor_isolator", False), ("accumulator_valve", False), ("all_bleeds", True)):
            there.unit.desk.act(act, value)
        await there.show(there.app.walk)
        there.app.speaker.at_keys.question = OpenQuestion(
            Ask("float there", "Hold the closed limit's lever off, with a rod.")
        )
        await there.press("h")
        await there.until("Where do you put your hands?")
        screen = there.app.screen
        assert isinstance(screen, AtUnitScreen)
        for number, place in enumerate(screen._places(), start=1):
            shown = await there.press(str(number))
            assert f" {len(place.doings)}  {place.doings[-1].words[:30]}" in shown, shown
            assert "The test asks" in shown
            await there.press("escape")


async def test_what_nobody_could_do_is_said(tmp_path: Path) -> None:
    """The sensing line cannot be vented while the root valve is open; nothing is recorded as done."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        await there.show(AtUnitScreen())
        await there.until("Where do you put your hands?")
        await there.press("5", "2")
        await there.until("NOT DONE: the root valve is open")


async def test_time_passes_for_both_and_is_recorded(tmp_path: Path) -> None:
    """A minute at the unit is a minute of the visit's clock, and the record says that it was shortened."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        await there.show(AtUnitScreen())
        await there.until("Where do you put your hands?")
        before_ns, recorded = there.visit.clock.unit_ns(), []
        there.visit.on_event(lambda event: recorded.append(event.kind))
        await there.press("7", "2")
        await there.until("Done: 1 minute")
        assert there.visit.clock.unit_ns() - before_ns >= 60e9
        assert WaitShortened.__name__.lower() in [kind.replace("_", "") for kind in recorded]


async def test_r15_there_are_no_hands_at_a_unit_that_was_not_started_here(tmp_path: Path) -> None:
    """Even at a practice unit that somebody else serves: no key, no label, and the screen closes itself."""
    async with opened(tmp_path) as there:
        await there.show(there.app.walk)
        assert "H unit" not in (await there.text()).splitlines()[-2]
        await there.press("h")
        assert there.app.screen is there.app.walk
        await there.show(AtUnitScreen())
        await there.pilot.pause(0.1)
        assert there.app.screen is there.app.walk


async def test_r15_no_hands_where_the_line_does_not_prove_to_be_a_practice_unit(tmp_path: Path) -> None:
    """The line is asked again at each connect; what it says counts more than what was started."""
    async with opened(tmp_path) as there, hands_at(there.app.desk, there.unit.desk):
        assert there.app.desk.hands is not None
        link = there.visit.link
        assert link is not None
        link.facts = type("Real", (), {"practice": None})()
        assert there.app.desk.hands is None


async def test_plain_letters_where_the_console_draws_none(tmp_path: Path) -> None:
    """Nothing above ASCII on the whole screen."""
    async with opened(tmp_path, shows=LETTERS) as there, hands_at(there.app.desk, there.unit.desk):
        await there.show(AtUnitScreen())
        text = await there.until("Where do you put your hands?")
        assert text.isascii(), [character for character in text if not character.isascii()]


@pytest.mark.slow
async def test_r11_the_stop_key_stops_from_beside_the_unit(tmp_path: Path) -> None:
    """While the valve moves H leads there too, things are done there, and SPACE is still the stop."""
    async with (
        app_at(tmp_path, speed=1.0) as there,
        hands_at(there.app.desk, there.there.unit.desk),
        there.stroke(0.1) as running,
    ):
        await there.pilot.press("h")
        await there.until(lambda: "Where do you put your hands?" in there.shown(), "the unit")
        assert "SPACE sends STOP" in there.shown()
        await there.pilot.press("4", "1", "5")
        await there.pilot.press("space")
        ended = await there.ended(running)
        assert (ended.how, ended.reason) == ("stopped", f"stop key, by {TESS}")
        assert there.stops()
        assert there.there.unit.desk.unit.side.hand_lever_stowed, "an amount not given is not done"


@pytest.mark.slow
async def test_a_test_that_ends_by_itself_leaves_hands_where_they_are(tmp_path: Path) -> None:
    """An act of several keys is finished, whatever ends meanwhile; the result waits, and comes with the way back."""
    async with (
        app_at(tmp_path) as there,
        hands_at(there.app.desk, there.there.unit.desk),
        there.stroke(0.1) as running,
    ):
        await there.pilot.press("h")
        await there.until(lambda: "Where do you put your hands?" in there.shown(), "the unit")
        await there.pilot.press("4", "1", "5")
        assert (await there.ended(running)).how == "finished"
        await there.until(lambda: not there.app.desk.in_motion, "the end of the test")
        await there.pilot.press("escape")
        await there.until(lambda: "The test is over." in there.shown(), "what is said of it")
        await there.pilot.press("escape", "escape")
        await there.until(lambda: "Enter go on" in there.shown(), "the result")

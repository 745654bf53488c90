"""The lines of every screen: state, age, permit, what the stop key does."""

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from commission.procedures.watched_stroke import watched_stroke
from commission.sheet import End
from commission.terminal import lines
from commission.visit import Visit
from tests.terminal.moving_app import desk_at
from tests.virtual_time import run_virtual
from tests.visiting import visiting


def test_r28_without_a_visit_it_says_that_it_is_no_safety_system(tmp_path: Path) -> None:
    """And that no unit is connected."""
    desk = desk_at(tmp_path)
    assert "not a safety system" in lines.state(desk)
    assert lines.stop(desk, field_focused=False) == (" No unit is connected", False)
    assert lines.permit(desk) == ""
    assert lines.age(desk) == "no line"


@pytest.mark.parametrize("field_focused", [False, True])
def test_r11_at_rest_the_stop_field_says_how_the_key_is_reached(field_focused: bool, tmp_path: Path) -> None:  # noqa: FBT001  # where the keys go
    """Out of a field it takes Esc first; always within 80 columns."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            desk = desk_at(tmp_path)
            desk.visit = there.visit
            words, moving = lines.stop(desk, field_focused=field_focused)
            assert not moving
            assert words.startswith(" Esc, then SPACE" if field_focused else " No motion from here. SPACE")
            assert there.visit.job.sheet.behaviour.local_stop in words
            assert len(words) <= 80

    run_virtual(main())


def test_r11_a_stroke_that_somebody_else_commands_is_stopped_by_nothing_here(tmp_path: Path) -> None:
    """The valve moves and no key of ours stops it: the field says so for as long as it is watched."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            begun = next(watched_stroke(there.visit.job.sheet, End.OPEN, "K1 watched 1", "control room"))
            running = SimpleNamespace(begun=begun, view=SimpleNamespace(ending=False))
            desk = desk_at(tmp_path)
            desk.visit = cast("Visit", SimpleNamespace(job=there.visit.job, link=there.visit.link, supervisor=running))
            words, moving = lines.stop(desk, field_focused=False)
            assert moving
            assert words.startswith(" NOTHING HERE STOPS THIS STROKE.")

    run_virtual(main())


def test_r04_r18_state_and_age_are_said_as_they_are(tmp_path: Path) -> None:
    """PRACTICE, the tag, whose word; *now* only while a reading is fresh, NO CONTACT when there is none."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            desk = desk_at(tmp_path)
            desk.visit = there.visit
            assert lines.state(desk).startswith(" PRACTICE XV-1101  UNKNOWN")
            assert lines.age(desk) == "no reading yet"
            there.visit.keep_reading()
            await there.visit.clock.sleep_wire(3)
            assert lines.age(desk).startswith("now, ")
            there.unit.server.deaf = True
            await there.visit.clock.sleep_wire(20)
            assert lines.age(desk) == "NO CONTACT"
            words, _ = lines.stop(desk, field_focused=False)
            assert words == " NO CONTACT: STOP by SPACE may not arrive. Local: ESD button, north panel"

    run_virtual(main())


def test_r07_the_permit_is_counted_down(tmp_path: Path) -> None:
    """In minutes."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            desk = desk_at(tmp_path)
            desk.visit = there.visit
            assert lines.permit(desk) == "no permit"
            there.arrive()
            assert lines.permit(desk) in ("permit 599 min", "permit 600 min")

    run_virtual(main())


@pytest.mark.parametrize("width", [60, 80])
def test_r18_the_age_of_the_data_is_never_cut_off(width: int, tmp_path: Path) -> None:
    """However long the reason for unknown is, the age stands at the end of the line."""

    async def play() -> None:
        async with visiting(tmp_path) as site:
            desk = desk_at(tmp_path)
            desk.visit = site.visit
            site.visit.was_away(4000.0)
            said = lines.state(desk, width)
            assert len(said) <= width
            assert said.endswith(lines.age(desk))

    run_virtual(play())

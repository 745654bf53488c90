"""What every screen has: the lines above and below, also where there is room for nothing else."""

from pathlib import Path

import pytest

from commission.terminal.frame import REDRAW_S, Frame
from tests.terminal.walking import SHEET, walking


@pytest.mark.parametrize("size", [(60, 20), (40, 10), (79, 24)])
@pytest.mark.asyncio
async def test_a_small_window_says_so_and_keeps_tag_state_and_stop(size: tuple[int, int], tmp_path: Path) -> None:
    """The body is hidden, nothing else."""
    async with walking(tmp_path, size) as there:
        visit = there.app.desk.begin(SHEET, there.app.speaker, "T. Placeholder")
        there.app.enter_visit(visit)
        await there.sees("XV-1101 UNKNOWN")
        await there.sees("Make this window at least 80 x 24")
        text = there.text.splitlines()
        assert text[0].startswith(" XV-1101  UNKNOWN")
        assert "Nothing here stops anything" in there.text
        assert "press the stop key" not in there.text


@pytest.mark.asyncio
async def test_a_window_that_grows_shows_everything_again(tmp_path: Path) -> None:
    """Without a key."""
    async with walking(tmp_path, (60, 20)) as there:
        await there.sees("it is 60 x 20")
        await there.pilot.resize_terminal(100, 30)
        await there.sees("Jobs on this laptop")
        assert "Make this window" not in there.text


@pytest.mark.asyncio
async def test_the_key_line_shows_what_works_now(tmp_path: Path) -> None:
    """In a field: Enter and Esc; out of it the keys, whole labels only."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.press("enter")
        await there.sees("Enter answers  Esc, then G GAS  N not done  X state  U who  ? help")
        await there.press("escape")
        await there.sees("Enter type  G GAS  N not done  X state  U who  PLTDVRE pages  ? help")


@pytest.mark.asyncio
async def test_a_screen_behind_another_is_not_drawn_until_it_is_in_sight_again(tmp_path: Path) -> None:
    """What nobody sees would only hold up what is polled; back in sight, it shows at once how things are."""
    async with walking(tmp_path) as there:
        await there.start()
        drawn: list[None] = []
        behind = there.app.screen
        assert isinstance(behind, Frame)
        draw_lines = behind.draw_lines
        behind.draw_lines = lambda: drawn.append(draw_lines())  # type: ignore[method-assign]  # counts
        await there.press("escape", "question_mark")
        assert there.app.screen is not behind
        drawn.clear()
        await there.pilot.pause(3 * REDRAW_S)
        assert not drawn
        await there.press("escape")
        await there.until(lambda: there.app.screen is behind)
        assert drawn

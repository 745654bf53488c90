"""The film clock in the app: one key away, also while the valve moves, and in the way of nothing."""

import re
from pathlib import Path

import pytest

from commission.analysis.film_clock import read_off
from commission.terminal.film_clock import picture
from commission.terminal.screens.film_clock import ASKS, FilmClockScreen
from tests.terminal.moving_app import app_at
from tests.terminal.prepared import LETTERS, opened

HALF_PCT = 50.0


@pytest.mark.asyncio
async def test_one_key_shows_it_and_the_same_key_goes_back(tmp_path: Path) -> None:
    """State line and stop field stay; a console that draws nothing gets plain letters."""
    async with opened(tmp_path, shows=LETTERS) as there:
        await there.until("Jobs on this laptop")
        await there.press("c")
        text = await there.until("Film this and the stem")
        lines = text.splitlines()
        assert "XV-1101" in lines[0]
        assert "STOP" in lines[-1]
        assert text.isascii()
        assert "#" in text
        await there.press("c")
        assert "Film this" not in await there.until("Jobs on this laptop")


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_r11_space_stops_from_in_front_of_it(tmp_path: Path, size: tuple[int, int]) -> None:
    """In the middle of a stroke it runs; SPACE stops the valve, and the result comes in its place."""
    async with app_at(tmp_path, size=size) as at, at.stroke(HALF_PCT) as running:
        await at.pilot.press("c")
        await at.until(lambda: isinstance(at.app.screen, FilmClockScreen), "the clock")
        assert "SPACE sends STOP" in at.shown().splitlines()[-1]
        await at.pilot.press("space")
        ended = await running
        assert ended.how == "stopped"


@pytest.mark.parametrize(("width", "height"), [(80, 21), (120, 37)])
def test_a_question_of_the_test_is_said_under_it(width: int, height: int) -> None:
    """In every window that is promised the line fits; the digits above it stay."""
    lines = picture(read_off("04:27.35 30"), width, height, drawing=True, ends=ASKS).splitlines()
    assert len(lines) <= height
    assert max(map(len, lines)) <= width
    assert lines[-1].endswith(ASKS)
    assert sum(bool(re.search("█", line)) for line in lines) >= 10

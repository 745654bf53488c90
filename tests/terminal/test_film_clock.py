"""The film clock on the screen: large, running, and readable from every window it may be in."""

import asyncio

import pytest
from textual.widgets import Static

from commission.analysis.film_clock import FilmReading, reading_at
from commission.terminal.film_clock import FilmClockApp, large, picture, scale

SIZES = ((60, 24), (80, 24), (120, 40), (20, 8))


@pytest.mark.parametrize(("width", "height"), SIZES[:3])
def test_it_fills_the_window_and_stays_inside_it(width: int, height: int) -> None:
    """Time, check digits and what to do, at every size that is promised; as large as there is room for."""
    drawn = picture(reading_at(267_350_000_000), width, height, drawing=True, ends="Q ends.").split("\n")
    assert max(map(len, drawn)) <= width
    assert len(drawn) <= height
    across, _ = scale("04:27.35", width, height)
    assert across * 29 <= width
    assert "Film this" in drawn[-1]


def test_a_tiny_window_still_shows_it() -> None:
    """One column a block; what does not fit is cut by the window, not by us."""
    assert scale("04:27.35", 20, 8) == (1, 1)
    assert picture(reading_at(0), *SIZES[3], drawing=True, ends="Q ends.")


def test_each_digit_is_drawn_unlike_every_other() -> None:
    """No two can be confused for being the same picture."""
    drawn = {digit: tuple(large(digit, 1, 1, "#")) for digit in "0123456789:."}
    assert len(set(drawn.values())) == len(drawn)
    assert large("1", 2, 3, "#") == ["    ##"] * 15


def test_it_runs_with_the_time_and_ends_on_its_key() -> None:
    """What is drawn is the reading of now, counted from its beginning."""
    now_ns = [5_000_000_000]
    app = FilmClockApp(lambda: now_ns[0])

    async def main() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            now_ns[0] += 267_350_000_000
            app.draw()
            shown = str(app.query_one("#clock", Static).content)
            assert shown == picture(FilmReading(26735), 80, 24, drawing=True, ends="Q ends.")
            await pilot.press("q")

    asyncio.run(main())
    assert app.return_code == 0

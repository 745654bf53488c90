"""The trace: each value on its row, least and most of a column joined, plain letters where there is no drawing."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.app import App, ComposeResult
from textual.geometry import Size

from commission.terminal.widgets.trace import LABEL, Trace, rows

SIZE = Size(LABEL + 10, 4)
points = st.lists(st.tuples(st.floats(0, 300), st.floats(-50, 150)), max_size=300).map(sorted)


def dots(line: str) -> set[int]:
    """Columns of a line in which there is anything."""
    return {column for column, letter in enumerate(line) if letter not in (" ", "⠀")}


@given(points, st.integers(7, 150), st.integers(1, 50), st.booleans())
def test_it_fills_its_place_exactly(found: list[tuple[float, float]], width: int, height: int, drawing: bool) -> None:  # noqa: FBT001  # drawn
    """As many lines as there are rows, each as wide as the place without its labels, whatever the values are."""
    lines = rows(found, Size(width, height), 0, 100, drawing=drawing)
    assert len(lines) == height
    assert {len(line) for line in lines} == {max(1, width - LABEL)}


@given(points)
def test_letters_are_ascii(found: list[tuple[float, float]]) -> None:
    """No character outside ASCII where the console can't do better."""
    assert all(line.isascii() for line in rows(found, SIZE, 0, 100, drawing=False))


@given(points)
def test_dots_are_braille(found: list[tuple[float, float]]) -> None:
    """Unicode 10.1, Braille Patterns: U+2800 to U+28FF, or a blank."""
    for line in rows(found, SIZE, 0, 100, drawing=True):
        assert all(letter == " " or 0x2800 <= ord(letter) <= 0x28FF for letter in line)


def test_low_is_at_the_bottom_and_high_at_the_top() -> None:
    """A constant stands on its own row."""
    for value, row in ((0, 3), (100, 0)):
        lines = rows([(0, value), (10, value)], SIZE, 0, 100, drawing=False)
        assert [bool(dots(line)) for line in lines] == [index == row for index in range(4)]


def test_it_uses_the_whole_width() -> None:
    """The first point is in the first column, the last in the last."""
    lines = rows([(5, 50), (7, 50), (25, 50)], SIZE, 0, 100, drawing=True)
    seen = set().union(*(dots(line) for line in lines))
    assert {0, 9} <= seen


def test_a_rise_between_two_samples_is_joined() -> None:
    """No row is left out between two values."""
    lines = rows([(0, 0), (1, 100)], SIZE, 0, 100, drawing=True)
    assert all(dots(line) for line in lines)


def test_what_is_beyond_the_scale_is_shown_at_its_edge() -> None:
    """A value above the scale is not lost."""
    lines = rows([(0, 400), (1, 400)], SIZE, 0, 100, drawing=False)
    assert dots(lines[0])
    assert not dots(lines[3])


def test_without_points_or_scale_it_is_empty() -> None:
    """Nothing is drawn that was not seen."""
    for lines in (rows([], SIZE, 0, 100, drawing=True), rows([(0, 1)], SIZE, 5, 5, drawing=True)):
        assert "".join(lines).strip() == ""


def test_2000_points_keep_least_and_most_of_every_column() -> None:
    """A spike of one sample is seen."""
    found = [(i / 100, 50.0 + 0.1 * math.sin(i)) for i in range(2000)]
    found[1234] = (12.34, 100.0)
    lines = rows(found, Size(LABEL + 70, 10), 0, 100, drawing=True)
    assert len(dots(lines[0])) in (1, 2)


def test_sparse_samples_are_joined_and_a_silence_is_not() -> None:
    """Ten samples a second over a wide screen make a line; what nobody saw stays empty."""
    wide = Size(LABEL + 60, 6)
    ramp = [(number / 10, float(number)) for number in range(11)]
    joined = rows(ramp, wide, 0, 10, drawing=False)
    assert all(any(line[column] == "*" for line in joined) for column in range(60))
    silent = rows([(0, 5), (0.1, 5), (9.9, 5), (10, 5)], wide, 0, 10, drawing=False)
    assert not any(line[30] == "*" for line in silent)


class OneTrace(App[None]):
    """A trace and nothing else."""

    CSS = """
    Trace { width: 30; height: 6; color: white; background: black; }
    Trace.bright { color: yellow; }
    """

    def compose(self) -> ComposeResult:
        """The trace."""
        yield Trace(0, 100, "%")


@pytest.mark.asyncio
async def test_it_is_drawn_in_its_own_style_also_when_that_changes() -> None:
    """The style is looked up once for all lines, and again when another one holds."""
    async with OneTrace().run_test(size=(40, 10)) as pilot:
        trace = pilot.app.query_one(Trace)
        trace.show([(number / 10, float(number)) for number in range(100)])
        for name in ("", "bright"):
            trace.set_classes(name)
            await pilot.pause()
            styles = {segment.style for y in range(6) for segment in trace.render_line(y)}
            assert styles == {trace.rich_style}
            assert trace.render_line(99).cell_length == trace.size.width
        assert trace.rich_style.color is not None
        assert trace.rich_style.color.get_truecolor() == (255, 255, 0)

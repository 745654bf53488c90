"""
A trace over time in braille dots, or in letters where the console can't do better.

Our own, because it must not stall the polling: two values a column (least and most), drawn line by line.
"""

from collections.abc import Sequence

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bit of each dot of a braille cell, by row and column (Unicode 10.1, Braille Patterns)."""

LABEL = 6

JOINED_S = 1.0
"""Points farther apart than this are not joined: nobody saw what was between them."""


class Trace(Widget):
    """
    One line over time.

    Args:
        low: Value at the bottom.

        high: Value at the top.

        unit: For the labels.

        drawing: Whether braille can be shown.
    """

    def __init__(self, low: float, high: float, unit: str, *, drawing: bool = True, id: str | None = None) -> None:  # noqa: A002  # Textual's own name
        super().__init__(id=id)
        self._low, self._high, self._unit, self._drawing = low, high, unit, drawing
        self._points: Sequence[tuple[float, float]] = ()
        self._rows: list[str] = []
        self._style: Style | None = None

    def show(self, points: Sequence[tuple[float, float]]) -> None:
        """Draw these points: seconds and values, in order of time."""
        self._points = points
        self._rows = rows(points, self.size, self._low, self._high, drawing=self._drawing)
        self.refresh()

    def on_resize(self) -> None:
        """Draw again in the new size."""
        self.show(self._points)

    def notify_style_update(self) -> None:
        """The style is looked up once for all lines: for each line anew it cost more than the drawing."""
        super().notify_style_update()
        self._style = None

    def render_line(self, y: int) -> Strip:
        """One line: the label at the left, then the dots."""
        style = self._style = self._style or self.rich_style
        if not self._rows or y >= len(self._rows):
            return Strip.blank(self.size.width, style)
        label = ""
        if y == 0:
            label = f"{self._high:g}{self._unit}"
        elif y == len(self._rows) - 1:
            label = f"{self._low:g}{self._unit}"
        return Strip([Segment(f"{label:>{LABEL - 1}} ", style), Segment(self._rows[y], style)])


def rows(points: Sequence[tuple[float, float]], size: Size, low: float, high: float, *, drawing: bool) -> list[str]:
    """
    The lines of a trace.

    Args:
        points: Seconds and values.

        size: Columns and rows there are, labels included.

        low: Value at the bottom.

        high: Value at the top.

        drawing: Braille, or letters.
    """
    width, height = max(1, size.width - LABEL), max(1, size.height)
    if not points or high <= low:
        return [" " * width for _ in range(height)]
    columns, levels = (width * 2, height * 4) if drawing else (width, height)
    spans = _spans(points, columns, levels, low, high)
    return _braille(spans, width, height) if drawing else _letters(spans, width, height)


def _spans(
    points: Sequence[tuple[float, float]], columns: int, levels: int, low: float, high: float
) -> list[tuple[int, int] | None]:
    first, last = min(at_s for at_s, _ in points), max(at_s for at_s, _ in points)
    scale = (columns - 1) / (last - first) if last > first else 0.0
    spans: list[tuple[int, int] | None] = [None] * columns
    before: int | None = None
    last_s, last_column = first, 0
    for at_s, value in points:
        share = (min(max(value, low), high) - low) / (high - low)
        level = round(share * (levels - 1))
        column = round((at_s - first) * scale)
        if before is not None and at_s - last_s <= JOINED_S:
            for between in range(last_column + 1, column):
                share = (between - last_column) / (column - last_column)
                filled = round(before + share * (level - before))
                spans[between] = (filled, filled)
        joined = (level, level) if before is None else (min(level, before), max(level, before))
        known = spans[column]
        spans[column] = joined if known is None else (min(known[0], joined[0]), max(known[1], joined[1]))
        before, last_s, last_column = level, at_s, column
    return spans


def _braille(spans: list[tuple[int, int] | None], width: int, height: int) -> list[str]:
    cells = [[0] * width for _ in range(height)]
    for column, span in enumerate(spans):
        if span is None:
            continue
        for level in range(span[0], span[1] + 1):
            from_top = height * 4 - 1 - level
            cells[from_top // 4][column // 2] |= _DOTS[from_top % 4][column % 2]
    return ["".join(chr(0x2800 + cell) if cell else " " for cell in row) for row in cells]


def _letters(spans: list[tuple[int, int] | None], width: int, height: int) -> list[str]:
    lines = [[" "] * width for _ in range(height)]
    for column, span in enumerate(spans):
        if span is None:
            continue
        for level in range(span[0], span[1] + 1):
            lines[height - 1 - level][column] = "*"
    return ["".join(line) for line in lines]

"""
Travel and pressure of a stroke against time, as SVG.

Made for black-and-white paper: curves differ by line (solid, dashed, dotted) and carry their name beside them; no
colour says anything. A curve is thinned to at most 2,000 points by keeping the least and the largest of each stretch,
so that no peak is lost; across a gap in the readings no line is drawn.
"""

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

import msgspec

from commission.report.display import number_in
from commission.report.trace import Floats, Trace

MOST_POINTS = 2000

_WIDTH, _HEIGHT = 260.0, 130.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 26.0, 234.0, 28.0, 106.0
_TICKS = 5
_FONT_SIZE = 7.6
_FONT = f'font-family="Libertinus Serif" font-size="{_FONT_SIZE:g}" fill="#000"'
_GREY = "#777"
_LABEL_TRIES = 60
_FAR, _NEAR = 25.0, 2.5

_Place = tuple[float, float]


class Mark(msgspec.Struct, frozen=True):
    """A moment of the stroke, drawn as an upright line with its name."""

    at_s: float
    name: str


class BandAt(msgspec.Struct, frozen=True):
    """Where a baseline expects the pressure at one moment of the stroke, in bar."""

    at_s: float
    low_bar: float
    high_bar: float


class TravelBand(msgspec.Struct, frozen=True):
    """Where a baseline expects the valve: time and travel in percent, along its early and its late edge."""

    early: tuple[tuple[float, float], ...]
    late: tuple[tuple[float, float], ...]


class _Line(msgspec.Struct, frozen=True):
    name: str
    times: Floats
    values: Floats
    gaps: tuple[tuple[float, float], ...]
    dash: str
    width: float


class _Axis(msgspec.Struct, frozen=True):
    """A linear scale from values to places on the page."""

    low: float
    high: float
    start: float
    end: float

    def place(self, value: float) -> float:
        """Where a value lies."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def stroke_plot(
    last: Trace,
    first: Trace | None,
    marks: Sequence[Mark],
    bands: Sequence[BandAt] = (),
    travel_from_pct: float = 0.0,
    travel_bands: Sequence[TravelBand] = (),
) -> str:
    """
    The plot of one direction.

    Args:
        last: The run that stands, travel solid and pressure dashed.

        first: An earlier run to compare with, travel dotted; or None.

        marks: Moments of `last`.

        bands: Where a baseline expects the pressure, drawn as upright bars.

        travel_from_pct: Lower end of the scale of travel.

        travel_bands: Where a baseline expects the travel, drawn as grey ground under the curves.
    """
    times = _Axis(*_span((*last.time_s, *(first.time_s if first else ()))), _LEFT, _RIGHT)
    travel = _Axis(travel_from_pct, 100.0, _BOTTOM, _TOP)
    parts = [_ground(band, times, travel) for band in travel_bands]
    parts += [_frame(), _time_ticks(times), _left_ticks(travel)]
    parts.extend(_mark(mark, times, level) for level, mark in enumerate(marks))
    drawn: list[tuple[_Line, _Axis]] = []
    if first is not None and first.travel:
        drawn.append((_travel_line(first, "1.2 2.2", 0.9), travel))
    if last.pressure_pa:
        bars = tuple(number_in(value, "Pa", "bar") for value in last.pressure_pa)
        top = _steps(0.0, max(1.0, *(bar for bar in bars if math.isfinite(bar))))[-1]
        pressure = _Axis(0.0, top, _BOTTOM, _TOP)
        parts.append(_right_ticks(pressure))
        parts.extend(_band(band, times, pressure) for band in bands)
        drawn.append((_Line(f"pressure, {last.run}", last.time_s, bars, last.gaps_s, "5 2.2", 0.9), pressure))
    if last.travel:
        drawn.append((_travel_line(last, "", 1.3), travel))
    parts.extend(_curve(line, times, scale) for line, scale in drawn)
    parts.extend(_labels([(line.name, _places(line, times, scale)) for line, scale in drawn]))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH:g}" height="{_HEIGHT:g}" '
        f'viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}">{"".join(parts)}</svg>'
    )


def thinned(times: Floats, values: Floats, most: int = MOST_POINTS) -> tuple[Floats, Floats]:
    """
    At most `most` points of a curve: the least and the largest of each stretch in their order, and both ends.

    Args:
        times: Rising.

        values: As many.

        most: At least 4.
    """
    count = len(times)
    if count <= most:
        return times, values
    stretches = (most - 2) // 2
    keep = {0, count - 1}
    for number in range(stretches):
        inside = range(number * count // stretches, (number + 1) * count // stretches)
        keep.add(min(inside, key=values.__getitem__))
        keep.add(max(inside, key=values.__getitem__))
    chosen = sorted(keep)
    return tuple(times[i] for i in chosen), tuple(values[i] for i in chosen)


def _travel_line(trace: Trace, dash: str, width: float) -> _Line:
    percents = tuple(number_in(value, "1", "%") for value in trace.travel)
    return _Line(f"travel, {trace.run}", trace.time_s, percents, trace.gaps_s, dash, width)


def _span(times: Floats) -> tuple[float, float]:
    finite = [time for time in times if math.isfinite(time)]
    low, high = (min(0.0, *finite, 0.0), max(finite)) if finite else (0.0, 1.0)
    return (low, high) if high > low else (low, low + 1.0)


def _steps(low: float, high: float) -> list[float]:
    """Round numbers that cover low to high, about six of them."""
    rough = (high - low) / _TICKS
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * factor for factor in (1, 2, 2.5, 5, 10) if size * factor >= rough * (1 - 1e-9))
    first = math.floor(low / step)
    last = math.ceil(high / step - 1e-9)
    return [number * step for number in range(first, last + 1)]


def _frame() -> str:
    width, height = _RIGHT - _LEFT, _BOTTOM - _TOP
    return (
        f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{width:g}" height="{height:g}" fill="none" '
        f'stroke="#000" stroke-width="0.6"/>'
    )


def _text(x: float, y: float, words: str, anchor: str = "middle", *, halo: bool = False) -> str:
    behind = ' stroke="#fff" stroke-width="2.5" paint-order="stroke"' if halo else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {_FONT}{behind}>{escape(words)}</text>'


def _rule(x1: float, y1: float, x2: float, y2: float, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{_GREY}" stroke-width="0.5"{dashes}/>'
    )


def _time_ticks(axis: _Axis) -> str:
    inside = [tick for tick in _steps(axis.low, axis.high) if axis.low <= tick <= axis.high]
    ticks = [
        _rule(axis.place(tick), _BOTTOM, axis.place(tick), _BOTTOM + 3)
        + _text(axis.place(tick), _BOTTOM + 10.5, f"{tick:g}")
        for tick in inside
    ]
    return "".join(ticks) + _text((_LEFT + _RIGHT) / 2, _BOTTOM + 21, "seconds since the command")


def _left_ticks(axis: _Axis) -> str:
    """Quarters of the whole travel; round numbers of a part of it."""
    whole = axis.high - axis.low >= 100
    places = [axis.low + 25 * quarter for quarter in range(5)] if whole else _steps(axis.low, axis.high)
    ticks = [
        _rule(_LEFT - 3, axis.place(tick), _LEFT, axis.place(tick))
        + _text(_LEFT - 5, axis.place(tick) + 3, f"{tick:g}", "end")
        for tick in places
    ]
    return "".join(ticks) + _text(2, _TOP - 20, "travel %", "start")


def _right_ticks(axis: _Axis) -> str:
    ticks = [
        _rule(_RIGHT, axis.place(tick), _RIGHT + 3, axis.place(tick))
        + _text(_RIGHT + 5, axis.place(tick) + 3, f"{tick:g}", "start")
        for tick in _steps(axis.low, axis.high)
    ]
    return "".join(ticks) + _text(_WIDTH - 2, _TOP - 20, "pressure bar", "end")


def _ground(band: TravelBand, times: _Axis, travel: _Axis) -> str:
    """Grey between the early and the late edge, cut at the frame."""
    around = (*band.early, *reversed(band.late))
    places = [
        (min(max(times.place(time), _LEFT), _RIGHT), min(max(travel.place(pct), _TOP), _BOTTOM)) for time, pct in around
    ]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    return f'<polygon points="{points}" fill="#ddd" stroke="{_GREY}" stroke-width="0.4"/>'


def _band(band: BandAt, times: _Axis, pressure: _Axis) -> str:
    """An upright bar with feet: the baseline's band at one moment."""
    x, low, high = times.place(band.at_s), pressure.place(band.low_bar), pressure.place(band.high_bar)
    if not _LEFT <= x <= _RIGHT:
        return ""
    strokes = ((x, low, x, high), (x - 2, low, x + 2, low), (x - 2, high, x + 2, high))
    return "".join(
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="#000" stroke-width="1.1"/>'
        for x1, y1, x2, y2 in strokes
    )


def _mark(mark: Mark, axis: _Axis, level: int) -> str:
    """An upright line; names stand above the frame, each a line higher than the one before so that none collide."""
    x = axis.place(mark.at_s)
    if not _LEFT <= x <= _RIGHT:
        return ""
    anchor = "start" if x < (_LEFT + _RIGHT) / 2 else "end"
    return _rule(x, _TOP, x, _BOTTOM, "1 2") + _text(x, _TOP - 3 - (level % 2) * _FONT_SIZE, mark.name, anchor)


def _points(line: _Line) -> list[tuple[float, float]]:
    xs, ys = thinned(line.times, line.values)
    return [(x, y) for x, y in zip(xs, ys, strict=True) if math.isfinite(x) and math.isfinite(y)]


def _curve(line: _Line, times: _Axis, scale: _Axis) -> str:
    dashes = f' stroke-dasharray="{line.dash}"' if line.dash else ""
    path = _path(_points(line), line.gaps, times, scale)
    return f'<path d="{path}" fill="none" stroke="#000" stroke-width="{line.width:g}"{dashes}/>' if path else ""


def _path(points: list[tuple[float, float]], gaps: tuple[tuple[float, float], ...], times: _Axis, scale: _Axis) -> str:
    words = []
    before = None
    for time, value in points:
        broken = before is None or any(before <= start + 1e-9 and time >= end - 1e-9 for start, end in gaps)
        words.append(f"{'M' if broken else 'L'}{times.place(time):.2f} {scale.place(value):.2f}")
        before = time
    return "".join(words)


def _places(line: _Line, times: _Axis, scale: _Axis) -> list[_Place]:
    points = _points(line)
    every = max(1, len(points) // _LABEL_TRIES)
    return [(times.place(time), scale.place(value)) for time, value in points[::every]]


def _labels(curves: list[tuple[str, list[_Place]]]) -> list[str]:
    """A name beside each curve, where it is farthest from every other curve and name."""
    texts = []
    taken: list[_Place] = []
    for name, own in curves:
        others = [place for other, places in curves if other != name for place in places] + taken
        spots = [spot for x, y in own for spot in _beside(x, y, name) if _fits(spot, name)]
        if not spots:
            continue
        best = max(
            spots,
            key=lambda spot: min(_clearance(spot, name, others), _FAR) + 4 * min(_clearance(spot, name, own), _NEAR),
        )
        texts.append(_text(*best, name, "start", halo=True))
        taken.extend((best[0] + part * _length(name), best[1] - 3) for part in (0.0, 0.25, 0.5, 0.75, 1.0))
    return texts


def _beside(x: float, y: float, name: str) -> tuple[_Place, ...]:
    """Places for a name right and left of a point of its curve, above and below."""
    above, below, left = y - 3, y + _FONT_SIZE + 1, x - 3 - _length(name)
    return ((x + 3, above), (x + 3, below), (left, above), (left, below))


def _length(name: str) -> float:
    return _FONT_SIZE * 0.45 * len(name)


def _fits(spot: _Place, name: str) -> bool:
    x, y = spot
    return x > _LEFT and x + _length(name) < _RIGHT and _TOP + _FONT_SIZE < y < _BOTTOM - 2


def _clearance(spot: _Place, name: str, places: list[_Place]) -> float:
    """Distance from the label's box to the nearest of the places."""
    left, right, top, bottom = spot[0], spot[0] + _length(name), spot[1] - _FONT_SIZE * 0.8, spot[1] + 2
    return min(
        (math.hypot(max(left - x, 0.0, x - right), max(top - y, 0.0, y - bottom)) for x, y in places), default=99.0
    )

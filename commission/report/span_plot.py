"""
Errors of a 4–20 mA loop against the point, as SVG: limits dashed, up and down told apart by line and by mark.

Made for black-and-white paper like the plot of a stroke: a curve carries its name beside it, no colour says anything.
"""

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

import msgspec

_WIDTH, _HEIGHT = 260.0, 130.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 26.0, 176.0, 12.0, 108.0
_FONT_SIZE = 7.6
_FONT = f'font-family="Libertinus Serif" font-size="{_FONT_SIZE:g}" fill="#000"'
_GREY = "#777"
_ROOM = 1.15
_TICKS = 5
_APART = 8.5

_MARKS = {(True, True): "●", (True, False): "○", (False, True): "■", (False, False): "□"}
"""By whether it goes up, and whether it is the latest: as the marks on the curve."""

Place = tuple[float, float]


class ErrorCurve(msgspec.Struct, frozen=True):
    """
    Errors of one run on one way.

    Args:
        name: As `as found, up`.

        places: Point and error, both in percent.

        up: Up is drawn with round marks, down with square ones.

        latest: Of the run that stands: a solid, heavier line; earlier runs are dotted.
    """

    name: str
    places: tuple[Place, ...]
    up: bool
    latest: bool


def error_plot(curves: Sequence[ErrorCurve], limit_pct: float | None) -> str:
    """
    The plot of one loop.

    Args:
        curves: At least one, each with a place.

        limit_pct: Errors beyond plus or minus this fail; None draws no limits.
    """
    largest = max((abs(error) for curve in curves for _, error in curve.places), default=0.0)
    reach = _round_up(max(largest, limit_pct or 0.0, 0.1) * _ROOM)
    parts = [_frame(), _rule(_LEFT, _y(0, reach), _RIGHT, _y(0, reach)), *_ticks(reach)]
    if limit_pct is not None:
        parts.extend(_limit(limit_pct, reach))
    parts.extend(_curve(curve, reach) for curve in curves)
    parts.extend(_names(curves, reach))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH:g}" height="{_HEIGHT:g}" '
        f'viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}">{"".join(parts)}</svg>'
    )


def _x(point_pct: float) -> float:
    share = min(max(point_pct, -5.0), 105.0) / 100
    return _LEFT + 6 + share * (_RIGHT - _LEFT - 12)


def _y(error_pct: float, reach: float) -> float:
    return (_TOP + _BOTTOM) / 2 - error_pct / reach * (_BOTTOM - _TOP) / 2


def _round_up(value: float) -> float:
    size = 10.0 ** math.floor(math.log10(value))
    return next(size * factor for factor in (1, 2, 2.5, 5, 10) if size * factor >= value)


def _frame() -> str:
    return (
        f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{_RIGHT - _LEFT:g}" height="{_BOTTOM - _TOP:g}" fill="none" '
        f'stroke="#000" stroke-width="0.6"/>'
    )


def _ticks(reach: float) -> list[str]:
    found = [_text(2, _TOP - 4, "error, % of span", "start"), _text((_LEFT + _RIGHT) / 2, _BOTTOM + 20, "point, %")]
    for step in range(_TICKS):
        error = reach * (step / 2 - 1)
        found.append(_rule(_LEFT - 3, _y(error, reach), _LEFT, _y(error, reach)))
        found.append(_text(_LEFT - 5, _y(error, reach) + 3, f"{error:+g}" if error else "0", "end"))
    for point in (0, 25, 50, 75, 100):
        found.append(_rule(_x(point), _BOTTOM, _x(point), _BOTTOM + 3))
        found.append(_text(_x(point), _BOTTOM + 10.5, f"{point}"))
    return found


def _limit(limit_pct: float, reach: float) -> list[str]:
    found = [_rule(_LEFT, _y(side, reach), _RIGHT, _y(side, reach), "4 2") for side in (-limit_pct, limit_pct)]
    return [*found, _text(_LEFT + 3, _y(limit_pct, reach) - 2, f"limit ±{limit_pct:g} %", "start")]


def _curve(curve: ErrorCurve, reach: float) -> str:
    places = [(_x(point), _y(error, reach)) for point, error in sorted(curve.places)]
    path = "".join(f"{'L' if number else 'M'}{x:.2f} {y:.2f}" for number, (x, y) in enumerate(places))
    width, dash = (1.2, "") if curve.latest else (0.8, ' stroke-dasharray="1.2 2"')
    line = f'<path d="{path}" fill="none" stroke="#000" stroke-width="{width}"{dash}/>'
    return line + "".join(_mark(x, y, curve) for x, y in places)


def _mark(x: float, y: float, curve: ErrorCurve) -> str:
    fill = "#000" if curve.latest else "#fff"
    if curve.up:
        return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.7" fill="{fill}" stroke="#000" stroke-width="0.6"/>'
    corner = f'x="{x - 1.6:.2f}" y="{y - 1.6:.2f}" width="3.2" height="3.2"'
    return f'<rect {corner} fill="{fill}" stroke="#000" stroke-width="0.6"/>'


def _names(curves: Sequence[ErrorCurve], reach: float) -> list[str]:
    """Right of the frame, at the end of each curve, moved apart where two would lie over one another."""
    ends = [(_y(max(curve.places)[1], reach) + 3, curve) for curve in curves if curve.places]
    texts, below = [], -math.inf
    for y, curve in sorted(ends, key=lambda end: end[0]):
        below = max(y, below + _APART)
        texts.append(_text(_RIGHT + 4, below, f"{_MARKS[curve.up, curve.latest]} {curve.name}", "start"))
    return texts


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {_FONT}>{escape(words)}</text>'


def _rule(x1: float, y1: float, x2: float, y2: float, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{_GREY}" stroke-width="0.5"{dashes}/>'
    )

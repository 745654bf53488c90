"""
The three straight lines that a linearity is measured from: independent, zero-based, terminal-based.

Definitions after ANSI/ISA-51.1-1979 (R1993) and IEC 61298-2:2008, in our words (from memory): *independent* is the line
that makes the largest deviation smallest; *zero-based* the best of the lines through the lower end point;
*terminal-based* the line through both end points. Each family holds the next, so that the largest deviations never fall
in that order.

The largest deviation is a convex function of the slope, made of straight pieces; its least value stands where two of
them meet. Every such meeting is tried: no iteration, no library, the same digits on every machine.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations_with_replacement

import msgspec

Place = tuple[float, float]


class Line(msgspec.Struct, frozen=True):
    """
    A straight line beside some points.

    Args:
        at_zero: Its value at input 0.

        slope: Its rise per unit of input.

        high: The largest deviation of a point above it; 0 or more.

        low: The largest deviation below it; 0 or less.
    """

    at_zero: float
    slope: float
    high: float
    low: float

    @property
    def largest(self) -> float:
        """The largest deviation, with its sign; the positive one where both are as large."""
        return self.high if self.high >= -self.low else self.low

    def value(self, at: float) -> float:
        """The line's value at an input."""
        return self.at_zero + self.slope * at

    def offs(self, points: Sequence[Place]) -> list[float]:
        """How far each point is off it, without sign."""
        return [abs(value - self.value(at)) for at, value in points]


def independent_line(points: Sequence[Place]) -> Line:
    """
    The line that makes the largest deviation smallest.

    Args:
        points: Input and value; at least two inputs that differ.

    Raises:
        ValueError: fewer than two different inputs.
    """
    _check(points)

    def half_spread(slope: float) -> float:
        rests = [value - slope * at for at, value in points]
        return (max(rests) - min(rests)) / 2

    slope = min(_pair_slopes(points), key=half_spread)
    rests = [value - slope * at for at, value in points]
    return _line(points, (max(rests) + min(rests)) / 2, slope)


def zero_based_line(points: Sequence[Place]) -> Line:
    """
    The line through the lower end point whose largest deviation is smallest.

    Raises:
        ValueError: fewer than two different inputs.
    """
    _check(points)
    start, base = min(points)
    beyond = [(at - start, value - base) for at, value in points if at > start]

    def largest(slope: float) -> float:
        return max(abs(rise - slope * run) for run, rise in beyond)

    slope = min(_balancing_slopes(beyond), key=largest)
    return _line(points, base - slope * start, slope)


def terminal_line(points: Sequence[Place]) -> Line:
    """
    The line through the lower and the upper end point.

    Raises:
        ValueError: fewer than two different inputs.
    """
    _check(points)
    (start, base), (end, top) = min(points), max(points)
    slope = (top - base) / (end - start)
    return _line(points, base - slope * start, slope)


def _check(points: Sequence[Place]) -> None:
    if len({at for at, _ in points}) < 2:
        raise ValueError("a straight line needs two different inputs")


def _pair_slopes(points: Sequence[Place]) -> Iterator[float]:
    """The spread of what a slope leaves changes its course only where two points are left level."""
    for (one, value), (other, another) in combinations_with_replacement(points, 2):
        if one != other:
            yield (another - value) / (other - one)


def _balancing_slopes(beyond: Sequence[Place]) -> Iterator[float]:
    """The slopes that leave two points as far off on opposite sides, or one point on the line."""
    for (run, rise), (other_run, other_rise) in combinations_with_replacement(beyond, 2):
        yield (rise + other_rise) / (run + other_run)


def _line(points: Sequence[Place], at_zero: float, slope: float) -> Line:
    offs = [value - at_zero - slope * at for at, value in points]
    return Line(at_zero, slope, max(0.0, *offs), min(0.0, *offs))

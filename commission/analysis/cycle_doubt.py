"""
How well the characteristics of a calibration cycle are known: what an instrument shares between readings, and what not.

Its own error is the same each time it reads the same point and may be another at the next point (its data sheet bounds
it at each); what is read off a last digit or a scale is anew with every reading. A characteristic is the largest of
several deviations: with so many rivals for it, each has to be held more surely for the largest to be held (`together`).
"""

from collections.abc import Sequence

import msgspec

from commission.analysis.budget import Budget, Line, normal
from commission.analysis.straight_line import Line as StraightLine
from commission.analysis.straight_line import Place

_MOST_LINES = 3
"""Beyond so many readings averaged, their last digits are one normal line."""

_ALTERNATING = (0.25, 0.5, 0.25)
"""Weights of three evenly spaced points in the deviation from the line that makes the largest smallest."""

_BASED = (1.0, 0.75)
"""With less of the end point 89 % of straight loops are covered."""


class CycleDoubt(msgspec.Struct, frozen=True):
    """
    The lines of one reading, in the unit of the figures.

    Args:
        own: The instrument's own error at a point.

        read_off: Last digits, scales and noise, anew with each reading.
    """

    own: tuple[Line, ...]
    read_off: tuple[Line, ...]

    def at_point(self, count: int = 1) -> Budget:
        """The mean of so many readings of one point."""
        return Budget((*self.own, *self._averaged(count)))

    def two_points(self, count: int = 1) -> Budget:
        """The difference of two points, each read so often: nothing cancels between them."""
        return self.weighted((1.0, -1.0), count)

    def same_point(self, count: int = 1) -> Budget:
        """The difference of two means at one point, each of so many readings: the instrument's own error cancels."""
        averaged = self._averaged(count)
        return Budget((*averaged, *averaged))

    def weighted(self, weights: Sequence[float], count: int = 1) -> Budget:
        """A sum of several points, each with its weight and read so often."""
        lines = self.at_point(count).lines
        return Budget(tuple(line.times(weight) for weight in weights if weight for line in lines))

    def off_best_line(self, off: float, count: int = 1) -> Budget:
        """
        A deviation from the line that makes the largest smallest.

        Three points carry it where it stands out of what one point may be off; else any may, and it is known as one is.
        """
        one = self.at_point(count)
        return self.weighted(_ALTERNATING, count) if abs(off) > one.expanded() else one

    def off_based_line(self, off: float, count: int = 1) -> Budget:
        """The same from the best line through the lower end point, whose own doubt comes in by as much as its place."""
        near = self.weighted(_BASED, count)
        return self.at_point(count) if abs(off) > near.expanded() else near

    def off_terminal_line(self, line: StraightLine, curve: Sequence[Place], count: int = 1) -> Budget:
        """A deviation from the line through both ends: the point's own, less those of the ends by their distance."""
        at = max(curve, key=lambda place: abs(place[1] - line.value(place[0])))[0]
        first, last = curve[0][0], curve[-1][0]
        share = (at - first) / (last - first)
        return self.weighted((1.0, share - 1.0, -share), count)

    def _averaged(self, count: int) -> tuple[Line, ...]:
        if count <= _MOST_LINES:
            return tuple(line.times(1 / count) for line in self.read_off for _ in range(count))
        return tuple(normal(f"{line.name}, of {count}", line.contribution / count**0.5) for line in self.read_off)


def rivals(values: Sequence[float], reach: float) -> int:
    """How many of some values may be the largest, where each may be off by `reach`; at least one."""
    largest = max(values, default=0.0)
    return max(1, sum(value >= largest - 2 * reach for value in values))

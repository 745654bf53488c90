"""
A calibration cycle: errors at points up and down, and what is said of them, in percent of span.

Terms after ANSI/ISA-51.1-1979 (R1993) and IEC 61298-2:2008, in our words (from memory). *Inaccuracy*: the largest
positive and negative error of all readings. *Hysteresis*: the largest difference of up and down at one point; within a
cycle it holds the dead band too (ISA), on the averages of the cycles it is IEC's. *Repeatability*: the largest spread
at one point approached from one side. *Linearity*: of the average curve, see `straight_line`. What was not measured is
None, never zero.
"""

from collections.abc import Sequence
from math import fsum

import msgspec

from commission.analysis.straight_line import Line, Place, independent_line, terminal_line, zero_based_line


class PointError(msgspec.Struct, frozen=True):
    """
    One reading.

    Args:
        point: The point asked for, in percent of span: readings of one point are compared with one another.

        up: Whether it was approached from below.

        cycle: Which cycle, from 1.

        at: Where it was really read, in percent of span.

        error: Output minus what it should be there, in percent of span.
    """

    point: float
    up: bool
    cycle: int
    at: float
    error: float


class Characteristics(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a cycle comes to, in percent of span.

    Args:
        high: Largest error, by its sign; `inaccuracy` is this and `low`.

        low: Smallest error, by its sign.

        zero_error: Average error at the lowest point.

        span_error: Average error at the highest point less that at the lowest.

        hysteresis_in_cycle: None where no point was read both ways.

        hysteresis: The same, of the averages.

        repeatability: None where nothing was read twice.

        independent: The three lines of the average curve; None below two points.

        zero_based: See `straight_line`.

        terminal: See `straight_line`.
    """

    high: float
    low: float
    zero_error: float
    span_error: float
    hysteresis_in_cycle: float | None
    hysteresis: float | None
    repeatability: float | None
    independent: Line | None
    zero_based: Line | None
    terminal: Line | None


def characteristics(errors: Sequence[PointError]) -> Characteristics:
    """
    What the errors of one or more cycles come to.

    Raises:
        ValueError: there is no reading.
    """
    if not errors:
        raise ValueError("no point was read")
    curve = average_curve(errors)
    lined = len({at for at, _ in curve}) > 1
    all_errors = [known.error for known in errors]
    return Characteristics(
        high=max(all_errors),
        low=min(all_errors),
        zero_error=curve[0][1],
        span_error=curve[-1][1] - curve[0][1],
        hysteresis_in_cycle=max(differences_in_cycle(errors), default=None),
        hysteresis=max(differences(errors), default=None),
        repeatability=max(spreads(errors), default=None),
        independent=independent_line(curve) if lined else None,
        zero_based=zero_based_line(curve) if lined else None,
        terminal=terminal_line(curve) if lined else None,
    )


def average_curve(errors: Sequence[PointError]) -> tuple[Place, ...]:
    """For each point in rising order: where it was read on average, and the mean of its up and its down average."""
    found = []
    for point in sorted({known.point for known in errors}):
        here = [known for known in errors if known.point == point]
        sides = [_mean([known.error for known in here if known.up is up]) for up in (True, False) if _any(here, up=up)]
        found.append((_mean([known.at for known in here]), _mean(sides)))
    return tuple(found)


def differences_in_cycle(errors: Sequence[PointError]) -> list[float]:
    """Up against down at each point of each cycle, without sign, in percent of span."""
    found = []
    for cycle, point in sorted({(known.cycle, known.point) for known in errors}):
        found += _up_less_down([known for known in errors if (known.cycle, known.point) == (cycle, point)])
    return found


def differences(errors: Sequence[PointError]) -> list[float]:
    """The same of the averages of all cycles."""
    found = []
    for point in sorted({known.point for known in errors}):
        found += _up_less_down([known for known in errors if known.point == point])
    return found


def _up_less_down(here: Sequence[PointError]) -> list[float]:
    if not (_any(here, up=True) and _any(here, up=False)):
        return []
    up, down = (_mean([known.error for known in here if known.up is side]) for side in (True, False))
    return [abs(up - down)]


def spreads(errors: Sequence[PointError]) -> list[float]:
    """How far repeated readings of one point from one side are apart, for each that was read twice or more."""
    found = []
    for point, up in sorted({(known.point, known.up) for known in errors}):
        here = [known.error for known in errors if (known.point, known.up) == (point, up)]
        if len(here) > 1:
            found.append(max(here) - min(here))
    return found


def _any(here: Sequence[PointError], *, up: bool) -> bool:
    return any(known.up is up for known in here)


def _mean(values: Sequence[float]) -> float:
    return fsum(values) / len(values)

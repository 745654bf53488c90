"""
How finely a modulating valve follows: resolution and dead band from small steps, hysteresis from a slow ramp.

Terms after ANSI/ISA-75.25.01 and ANSI/ISA-51.1, in our words (from memory): *resolution* is the smallest step in the
same direction that moves the output, *dead band* the largest change of the input at a reversal without any.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from commission.analysis.budget import Budget, normal, rectangular
from commission.analysis.quantiles import two_sided_normal
from commission.figure import Figure

METHOD = "small_steps.settled/2"

_MOVES_BY = 5

LARGEST_SHARE = 0.62
"""So much of what the largest of them may be too large by is taken off: a little more than half suits most ramps."""

LARGEST_SCATTERS = 0.8
"""Scatter of the largest of some tens of differences of two normal values, in scatters of one value."""


class Settled(msgspec.Struct, frozen=True):
    """Input and travel once both stand still, each as a fraction of its span."""

    command: float
    travel: float


def resolution(settled: Sequence[Settled], noise: float) -> Figure:
    """
    The smallest sum of same-direction steps after which travel has moved.

    Args:
        settled: One after each step, in order; the first before any step.

        noise: Standard uncertainty of one settled travel.

    Raises:
        ValueError: no step in the same direction moved it.
    """
    smallest = math.inf
    finest = 0.0
    for direction in (1.0, -1.0):
        waiting, last = 0.0, settled[0].travel if settled else 0.0
        for before, after in pairwise(settled):
            change = (after.command - before.command) * direction
            if change <= 0:
                waiting, last = 0.0, after.travel
                continue
            waiting += change
            if (after.travel - last) * direction > _MOVES_BY * noise:
                if waiting < smallest:
                    smallest, finest = waiting, change
                waiting, last = 0.0, after.travel
    if not math.isfinite(smallest):
        raise ValueError("no step moved the valve: larger ones are needed")
    # It moved somewhere within the last step: half of that either way.
    lines = (rectangular("size of the step that moved it", finest / 2), normal("noise of travel", noise))
    return Budget(lines).figure("resolution", smallest - finest / 2, "1", METHOD)


def dead_band(settled: Sequence[Settled], noise: float) -> Figure:
    """
    The largest change of the input after a reversal that leaves travel where it was.

    Args:
        settled: Steps one way until it moves, then the other way until it moves back.

        noise: Standard uncertainty of one settled travel.

    Raises:
        ValueError: there is no reversal with a movement after it.
    """
    widest, last_step = -1.0, 0.0
    for turn in range(1, len(settled) - 1):
        came = settled[turn].command - settled[turn - 1].command
        goes = settled[turn + 1].command - settled[turn].command
        if came * goes >= 0:
            continue
        found = _without_motion(settled[turn:], math.copysign(1.0, goes), noise)
        if found is not None and found[0] > widest:
            widest, last_step = found
    if widest < 0:
        raise ValueError("no reversal after which the valve moved: step back until it does")
    # It is seen to move once it has gone by five times the noise, which the input was then already beyond the band.
    lines = (
        rectangular("size of the step that moved it", last_step / 2),
        normal("noise of travel, before and after", noise, math.sqrt(2)),
    )
    band = max(0.0, widest + last_step / 2 - _MOVES_BY * noise)
    return Budget(lines).figure("dead_band", band, "1", METHOD)


def _without_motion(after: Sequence[Settled], direction: float, noise: float) -> tuple[float, float] | None:
    """Input change before the step that moved it, and that step; None where the input turned or it never moved."""
    waiting = 0.0
    for before, now in pairwise(after):
        step = (now.command - before.command) * direction
        if step <= 0:
            return None
        if (now.travel - after[0].travel) * direction > _MOVES_BY * noise:
            return waiting, step
        waiting += step
    return None


def ramp_hysteresis(rising: Sequence[Settled], falling: Sequence[Settled], noise: float) -> Figure:
    """
    The largest difference of travel between a slow ramp up and a slow ramp down at the same input; never negative.

    Args:
        rising: Ramp up, input rising from point to point.

        falling: Ramp down, in the order it was made or turned round.

        noise: Standard uncertainty of one travel.

    Raises:
        ValueError: the two ramps have no input in common.
    """
    up = sorted(rising, key=lambda point: point.command)
    down = sorted(falling, key=lambda point: point.command)
    if not up or not down:
        raise ValueError("a ramp up and a ramp down")
    low, high = max(up[0].command, down[0].command), min(up[-1].command, down[-1].command)
    inputs = sorted({point.command for point in (*up, *down) if low <= point.command <= high})
    if not inputs:
        raise ValueError("the two ramps have no input in common")
    widest = max(abs(_travel_at(down, command) - _travel_at(up, command)) for command in inputs)
    # The largest of n noisy differences is too large by up to what the largest of n normal values is (Blom's formula,
    # from memory): all of it where the ramps run beside one another, little where they are apart at one place only.
    count = len(inputs)
    too_large = noise * math.sqrt(2) * two_sided_normal(max(0.0, 2 * (count - 0.375) / (count + 0.25) - 1))
    lines = (
        rectangular("largest of many", too_large / 2),
        normal("noise of travel, up and down", noise, LARGEST_SCATTERS),
    )
    return Budget(lines).figure("hysteresis", max(0.0, widest - LARGEST_SHARE * too_large), "1", METHOD)


def _travel_at(points: Sequence[Settled], command: float) -> float:
    for left, right in pairwise(points):
        if left.command <= command <= right.command:
            width = right.command - left.command
            share = (command - left.command) / width if width else 0.5
            return left.travel + share * (right.travel - left.travel)
    return points[0].travel

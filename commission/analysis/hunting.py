"""
A valve that should stand still at a constant input and does not: how far and how often.

Travel that stands still and leaps is sticking, a swing is too much gain or too little dead band; the share of the time
that it spends at its ends tells them apart.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from commission.analysis import edges
from commission.analysis.budget import Budget, Line, normal, readings, student, triangular
from commission.analysis.motion import LEAST_NOISE
from commission.figure import Figure
from commission.sheet.decode import Reading

METHOD = "hunting.hold/2"

_LEAST_TURNS = 4
_EDGE_SHARE = 0.15
_STILL_SHARE = 0.75
"""A sine is within 15 % of its ends for 51 % of the time, a square wave always: between the two it is told."""


class Turn(msgspec.Struct, frozen=True):
    """Where travel turned round: when, at what travel, and whether it was at the top."""

    at_ns: int
    travel: float
    top: bool


def turns(travel: tuple[Reading, ...]) -> tuple[Turn, ...]:
    """
    The points where travel turned round by more than its noise.

    Args:
        travel: Readings at a constant input.
    """
    if len(travel) < 3:
        return ()
    # Among n readings of pure noise the highest and the lowest are about 2·√(2·ln n) scatters apart.
    widest = 2 * (math.sqrt(2 * math.log(len(travel))) + 1)
    least = widest * max(LEAST_NOISE, edges.typical_scatter(travel))
    found: list[Turn] = []
    high = low = travel[0]
    rising: bool | None = None
    for reading in travel[1:]:
        high = reading if reading.value > high.value else high
        low = reading if reading.value < low.value else low
        if rising is not False and high.value - reading.value > least:
            if rising:
                found.append(Turn(high.at_ns, high.value, top=True))
            rising, low, high = False, reading, reading
        elif rising is not True and reading.value - low.value > least:
            if rising is False:
                found.append(Turn(low.at_ns, low.value, top=False))
            rising, low, high = True, reading, reading
    return tuple(found)


def hunting_figures(travel: tuple[Reading, ...]) -> tuple[Figure, ...]:
    """
    Turns counted; amplitude (peak to peak) and period where there are cycles.

    Args:
        travel: Readings at a constant input, as a fraction.

    Raises:
        ValueError: fewer than three readings of travel.
    """
    if len(travel) < 3:
        raise ValueError("at least three readings of travel")
    found_turns = turns(travel)
    noise = max(LEAST_NOISE, edges.typical_scatter(travel))
    found = [Budget(()).figure("turns_count", float(len(found_turns)), "1", METHOD, note=_shape(travel, found_turns))]
    if len(found_turns) >= _LEAST_TURNS:
        swings = [abs(after.travel - before.travel) for before, after in pairwise(found_turns)]
        amplitude = math.fsum(swings) / len(swings)
        lines: list[Line] = [readings("swing to swing", swings), normal("noise of travel", noise, math.sqrt(2))]
        found.append(Budget(tuple(lines)).figure("hunting_amplitude", amplitude, "1", METHOD))
        found.append(_period(found_turns, travel))
    return tuple(found)


def _period(found: Sequence[Turn], travel: tuple[Reading, ...]) -> Figure:
    """From the first turn to the last of the same kind; how well a turn is timed is seen from cycle to cycle."""
    cycles = [(after.at_ns - before.at_ns) / 1e9 for before, after in zip(found, found[2:], strict=False)]
    whole = (len(found) - 1) // 2
    period = (found[2 * whole].at_ns - found[0].at_ns) / 1e9 / whole
    step_s = (travel[-1].at_ns - travel[0].at_ns) / (len(travel) - 1) / 1e9
    mean = math.fsum(cycles) / len(cycles)
    scatter = math.sqrt(math.fsum((cycle - mean) ** 2 for cycle in cycles) / (len(cycles) - 1))
    # Cycles share their turns, so that about half of them tell something of their own.
    lines = (
        student("cycle to cycle", scatter / whole, max(1, len(cycles) // 2)),
        triangular("reading at either end", step_s / whole),
    )
    return Budget(lines).figure("hunting_period", period, "s", METHOD)


def _shape(travel: tuple[Reading, ...], found: Sequence[Turn]) -> str:
    """What the cycles look like, in words."""
    if len(found) < _LEAST_TURNS:
        return "no limit cycle"
    high, low = max(turn.travel for turn in found), min(turn.travel for turn in found)
    inside = [reading.value for reading in travel if found[0].at_ns <= reading.at_ns <= found[-1].at_ns]
    edge = _EDGE_SHARE * (high - low)
    at_ends = sum(value > high - edge or value < low + edge for value in inside) / len(inside)
    return (
        "stands still and leaps: sticking"
        if at_ends > _STILL_SHARE
        else "swings: too much gain or too small a dead band"
    )

"""Where a track of readings changes: a bit that makes or drops, a level that is crossed, a value that settles."""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from statistics import median

import msgspec

from commission.analysis.intervals import READING, Instant, between
from commission.analysis.observed import longest_step_ns
from commission.sheet.decode import Reading

STEADY_S = 0.5
"""How long a value must stay within its band, at the end of what was seen, to be called steady."""


_SLOPE_READINGS = 10
_MOST_BACK = 5


MEDIAN_COSTS = 2.7
"""Readings that make one degree of freedom of `typical_scatter`: a median of second differences that overlap."""


def mean_and_noise(track: Sequence[Reading]) -> tuple[float, float]:
    """
    Mean and experimental standard deviation of a few readings of something that stands still.

    Raises:
        ValueError: there is no reading.

    Source: JCGM 100:2008, 4.2.1 and 4.2.2.
    """
    if not track:
        raise ValueError("no readings to average")
    mean = math.fsum(reading.value for reading in track) / len(track)
    if len(track) == 1:
        return mean, 0.0
    return mean, math.sqrt(math.fsum((reading.value - mean) ** 2 for reading in track) / (len(track) - 1))


def scatter(track: Sequence[Reading]) -> float:
    """
    Standard deviation of one reading, from second differences, which a steady rise or fall leaves out.

    Source: variance of y₁ − 2y₂ + y₃ is six times that of one reading (JCGM 100:2008, 5.1.2).
    """
    bends = _bends(track)
    if not bends:
        return 0.0
    return math.sqrt(math.fsum(bend * bend for bend in bends) / (6 * len(bends)))


def typical_scatter(track: Sequence[Reading]) -> float:
    """
    The same from the median of the second differences, which a corner of the track here and there leaves alone.

    Source: for a normal distribution the standard deviation is 1.4826 times the median of the absolute values.
    """
    bends = _bends(track)
    return 1.4826 * median(abs(bend) for bend in bends) / math.sqrt(6) if bends else 0.0


def _bends(track: Sequence[Reading]) -> list[float]:
    return [
        first.value - 2 * middle.value + last.value
        for first, middle, last in zip(track, track[1:], track[2:], strict=False)
    ]


def first_change(
    track: tuple[Reading, ...], holds: Callable[[float], bool], scan_ns: int, gap_words: str = ""
) -> Instant | None:
    """
    When `holds` first became true, or None where it never did or already was in the first reading.

    Args:
        track: Readings of one role.

        holds: The condition, on a reading's value.

        scan_ns: The unit's scan time.

        gap_words: The note for a change across a gap, as `between last seen moving and first seen home`.
    """
    ordinary_ns = longest_step_ns(track)
    for before, after in pairwise(track):
        if holds(after.value) and not holds(before.value):
            gap = after.at_ns - before.at_ns > ordinary_ns
            return between(before, after, scan_ns, gap_words if gap else "")
    return None


def departure(
    track: tuple[Reading, ...], level: float, least: float, scan_ns: int, gap_words: str = ""
) -> Instant | None:
    """
    When a track began to leave its level, or None where it never went farther than `least` from it.

    It has to go so far before anybody can tell: the moment is put back by the time that this took, at the speed of the
    first readings after it, by five readings at most.

    Args:
        track: Readings of one role.

        level: Where it rested.

        least: What is called a change, in the readings' unit.

        scan_ns: The unit's scan time.

        gap_words: As for `first_change`.
    """
    found = first_change(track, lambda value: abs(value - level) > least, scan_ns, gap_words)
    place = next((i for i, r in enumerate(track) if i and abs(r.value - level) > least), len(track))
    if found is None or place + 1 >= len(track):
        return found
    return msgspec.structs.replace(found, at_ns=found.at_ns - _unseen_ns(track[place - 1 : place + 2], least))


def _unseen_ns(near: Sequence[Reading], least: float) -> int:
    """
    How long a change of `least` took, by the readings around it.

    It may be over with the next reading, or have begun just before this one: the faster of both is its speed.
    """
    moved = max(abs(after.value - before.value) for before, after in pairwise(near))
    step_ns = near[-1].at_ns - near[-2].at_ns
    return round(step_ns * (min(_MOST_BACK, least / moved) if moved else _MOST_BACK))


def makings(track: tuple[Reading, ...]) -> int:
    """How often a bit went from false to true."""
    return sum(after.is_true and not before.is_true for before, after in pairwise(track))


def level_crossing(track: tuple[Reading, ...], level: float, noise: float, scan_ns: int) -> Instant | None:
    """
    When a rising track crossed a level, by linear interpolation between two readings; None where it never did.

    Noise makes a slow track cross more than once: then the middle of the first and the last crossing, which favours
    neither side.

    Args:
        track: Readings of one role.

        level: In the readings' unit.

        noise: Standard deviation of one reading, in the same unit.

        scan_ns: The unit's scan time; what a reading shows is on average half a scan old.

    Source: IEEE Std 181 (reference levels as per cent of the two state levels, linear interpolation).
    """
    found = [i for i in range(len(track) - 1) if track[i].value < level <= track[i + 1].value]
    if not found:
        return None
    first, last = found[0], found[-1]
    if track[first + 1].at_ns - track[first].at_ns > longest_step_ns(track):
        return between(track[first], track[first + 1], scan_ns, "between two samples with a gap between them")
    at_ns = (_interpolated(track, first, level) + _interpolated(track, last, level)) // 2 - scan_ns // 2
    low, high = track[max(0, first - _SLOPE_READINGS)], track[min(len(track) - 1, last + 1 + _SLOPE_READINGS)]
    if first == last:
        low, high = track[first], track[first + 1]
    slope = max(high.value - low.value, noise) / (high.at_ns - low.at_ns)
    half_widths = track[first].half_width_ns + track[first + 1].half_width_ns
    return Instant(at_ns, (scan_ns, half_widths), noise / slope, sources=READING)


def _interpolated(track: tuple[Reading, ...], index: int, level: float) -> int:
    before, after = track[index], track[index + 1]
    share = (level - before.value) / (after.value - before.value)
    return before.at_ns + round(share * (after.at_ns - before.at_ns))


def settled(track: tuple[Reading, ...], least_band: float, scan_ns: int) -> Instant | None:
    """
    When a track last entered the band around its final value, or None where it is not steady at the end.

    The final value is the mean of the last half second; the band is five times its scatter, or that of the whole track
    where so few readings happen to be quiet, at least `least_band`, so that a steady rise has not settled. The moment
    is put on by the time that the band itself takes, as in `departure`.
    """
    if not track:
        return None
    last_ns = track[-1].at_ns
    tail = [reading for reading in track if reading.at_ns >= last_ns - STEADY_S * 1e9]
    mean, _ = mean_and_noise(tail)
    band = max(least_band, 5 * scatter(tail), 5 * typical_scatter(track))
    place = next((i for i in range(len(track) - 2, -1, -1) if abs(track[i].value - mean) > band), None)
    if place is None or track[place + 1].at_ns > tail[0].at_ns:
        return None
    found = between(track[place], track[place + 1], scan_ns)
    return msgspec.structs.replace(found, at_ns=found.at_ns + _unseen_ns(track[max(0, place - 1) : place + 2], band))

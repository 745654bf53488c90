"""
When motion started and ended, from travel: a level stretch and a straight ramp, and where the two meet.

The ramp is fitted to the first few readings that have certainly left the level, few enough for the curve of a real
stroke to be straight in them. Where there are too few of them, or a gap, the answer is the plain interval between the
last reading at rest and the first in motion.
"""

import math
from collections.abc import Sequence

import msgspec

from commission.analysis.edges import mean_and_noise
from commission.analysis.intervals import Instant, between
from commission.analysis.observed import longest_step_ns
from commission.sheet.decode import Reading

LEAST_NOISE = 2e-4
"""Noise of travel is taken as at least 0.02 % of travel, so that the last digit of a transmitter is not motion."""

_LEAVES_BY = 5
"""Motion is a departure of more than five times the noise (the trade's habit; common practice, no source)."""

_RAMP_READINGS = 5
_RAMP_NOISES = 25
_RAMP_LARGEST = 0.2
_LEAST_READINGS = 3
_FIRST_READINGS = 10


class Ramp(msgspec.Struct, frozen=True):
    """A straight line through readings: `value = mean_value + slope · (at − mean_at)`; slope per nanosecond."""

    mean_at_ns: float
    mean_value: float
    slope: float
    spread_ns2: float
    residual: float
    count: int


def fit_ramp(readings: Sequence[Reading]) -> Ramp:
    """
    The least-squares line through readings at different times.

    Raises:
        ValueError: fewer than three readings, or all at one time.

    Source: JCGM 100:2008, H.3 (with times taken from their mean, where slope and mean are uncorrelated).
    """
    count = len(readings)
    if count < _LEAST_READINGS:
        raise ValueError(f"a line needs three readings, not {count}")
    origin_ns = readings[0].at_ns
    mean_at = math.fsum(reading.at_ns - origin_ns for reading in readings) / count
    mean_value = math.fsum(reading.value for reading in readings) / count
    offsets = [reading.at_ns - origin_ns - mean_at for reading in readings]
    spread = math.fsum(offset * offset for offset in offsets)
    if spread == 0:
        raise ValueError("all readings are of one time")
    slope = math.fsum(o * (r.value - mean_value) for o, r in zip(offsets, readings, strict=True)) / spread
    squares = math.fsum((r.value - mean_value - slope * o) ** 2 for o, r in zip(offsets, readings, strict=True))
    return Ramp(origin_ns + mean_at, mean_value, slope, spread, math.sqrt(squares / (count - 2)), count)


def motion_start(progress: tuple[Reading, ...], scan_ns: int) -> Instant | None:
    """When travel left its start, or None where it never did by more than five times its noise."""
    return _departure(progress, scan_ns, "between last seen still and first seen moving")


def motion_end(progress: tuple[Reading, ...], scan_ns: int) -> Instant | None:
    """When travel came to rest, or None where it never moved: the departure of the stroke run backwards."""
    backwards = tuple(Reading(-r.value, -r.at_ns, r.half_width_ns) for r in reversed(progress))
    found = _departure(backwards, -scan_ns, "between last seen moving and first seen home")
    return None if found is None else Instant(-found.at_ns, found.widths_ns, found.noise_ns, found.note)


def still_level(track: tuple[Reading, ...]) -> tuple[float, float, int]:
    """
    Level, noise and number of readings of the level stretch a track begins with.

    The stretch ends where a reading and the next both depart by more than five times the noise of the first readings.

    Raises:
        ValueError: the track is empty.
    """
    first = track[: min(_FIRST_READINGS, max(_LEAST_READINGS, len(track) // 10))]
    level, noise = mean_and_noise(first)
    moving = first_moving(track, level, noise)
    still = track if moving is None else track[: max(1, (moving + 1) // 2)]
    level, noise = mean_and_noise(still)
    return level, noise, len(still)


def first_moving(track: tuple[Reading, ...], level: float, noise: float) -> int | None:
    """Index of the first of two readings in a row that are above `level` by more than five times the noise."""
    least = level + _LEAVES_BY * max(noise, LEAST_NOISE)
    for index in range(1, len(track) - 1):
        if track[index].value > least and track[index + 1].value > least:
            return index
    return None


def _departure(track: tuple[Reading, ...], scan_ns: int, gap_words: str) -> Instant | None:
    if len(track) < _LEAST_READINGS:
        return None
    level, noise, count = still_level(track)
    index = first_moving(track, level, noise)
    if index is None:
        return None
    before, after = track[index - 1], track[index]
    if after.at_ns - before.at_ns > longest_step_ns(track):
        return _plain(before, after, scan_ns, gap_words)
    window = _window(track[index:], level, max(noise, LEAST_NOISE))
    if len(window) < _LEAST_READINGS:
        return _plain(before, after, scan_ns, "")
    ramp = fit_ramp(window)
    met = _meeting(ramp, level, noise / math.sqrt(count), noise, scan_ns, after.half_width_ns)
    return _plain(before, after, scan_ns, "") if met is None or met.at_ns > after.at_ns else met


def _plain(before: Reading, after: Reading, scan_ns: int, note: str) -> Instant:
    found = between(before, after, scan_ns, note)
    return Instant(found.at_ns, tuple(abs(width) for width in found.widths_ns), note=note)


def _window(moving: tuple[Reading, ...], level: float, noise: float) -> tuple[Reading, ...]:
    """The readings to fit: at least five, and far enough out of the noise, but no farther than a fifth of travel."""
    count = 0
    for reading in moving:
        rise = reading.value - level
        if rise > _RAMP_LARGEST or (count >= _RAMP_READINGS and rise > _RAMP_NOISES * noise):
            break
        count += 1
    return moving[:count]


def _meeting(
    ramp: Ramp, level: float, level_noise: float, noise: float, scan_ns: int, reading_half_width_ns: int
) -> Instant | None:
    """Where ramp and level meet, with what noise, scan and the readings' own times leave uncertain."""
    if ramp.slope <= 0:
        return None
    back_ns = (level - ramp.mean_value) / ramp.slope
    weight = 1 / ramp.count + back_ns**2 / ramp.spread_ns2
    widths = (abs(scan_ns), 2 * reading_half_width_ns)
    time_variance = math.fsum(width**2 for width in widths) / 12
    # Scatter about the ramp that the unsure times of the readings do not explain is noise, or curvature.
    unexplained = max(noise**2, ramp.residual**2 - ramp.slope**2 * time_variance)
    noise_ns = math.sqrt(unexplained * weight + level_noise**2) / ramp.slope
    stretch = max(1.0, math.sqrt(weight))
    at_ns = round(ramp.mean_at_ns + back_ns - scan_ns / 2)
    return Instant(at_ns, tuple(round(width * stretch) for width in widths), noise_ns)

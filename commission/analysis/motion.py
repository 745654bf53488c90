"""
When motion started and ended, from travel: a level stretch and a straight ramp, and where the two meet.

The ramp is fitted to the first few readings that have certainly left the level, few enough for the curve of a real
stroke to be straight in them. Where there are too few of them, or a gap, the answer is the plain interval between the
last reading at rest and the first in motion.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

import msgspec

from commission.analysis.edges import mean_and_noise, typical_scatter
from commission.analysis.intervals import READING, Instant, between
from commission.analysis.observed import longest_step_ns
from commission.sheet.decode import Reading

LEAST_NOISE = 2e-4
"""Noise of travel is taken as at least 0.02 % of travel, so that the last digit of a transmitter is not motion."""

_LEAVES_BY = 5
"""Motion is a departure of more than five times the noise (common practice, no source)."""

_CERTAIN_RISE = 0.02
_CERTAIN_NOISES = 20

_BEAT = 1.12
"""A scan that beats slowly against the polling bends the ramp; without this, 92 % of such strokes are covered."""

_RAMP_READINGS = 5
_RAMP_NOISES = 25
_RAMP_LARGEST = 0.2
_LEAST_READINGS = 3
_FIRST_READINGS = 2
_LEAST_FREEDOM = 5


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


class Rest(msgspec.Struct, frozen=True):
    """Travel at rest at one end: its level, how many readings say so, and the index of the first reading in motion."""

    level: float
    count: int
    squares: float
    moving: int | None


def motion_start(progress: tuple[Reading, ...], scan_ns: int, noise: float | None = None) -> Instant | None:
    """
    When travel left its start, or None where it never did by more than five times its noise.

    Args:
        progress: Travel away from the start.

        scan_ns: The unit's scan time.

        noise: Of one reading; found in the level stretches at both ends where it is not given.
    """
    known = travel_noise(progress) if noise is None else noise
    return _departure(progress, known, scan_ns, "between last seen still and first seen moving")


def motion_end(progress: tuple[Reading, ...], scan_ns: int) -> Instant | None:
    """When travel came to rest, or None where it never moved: the departure of the stroke run backwards."""
    backwards = run_backwards(progress)
    words = "between last seen moving and first seen home"
    found = _departure(backwards, travel_noise(progress), -scan_ns, words)
    return None if found is None else msgspec.structs.replace(found, at_ns=-found.at_ns)


@lru_cache(maxsize=2)
def run_backwards(progress: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """The same stroke with time and travel reversed, so that its end is a start."""
    return tuple(Reading(-r.value, -r.at_ns, r.half_width_ns) for r in reversed(progress))


def rest(track: tuple[Reading, ...], noise: float) -> Rest:
    """
    The level stretch that a track begins with; its level is taken from its first three quarters, away from the motion.

    Motion is a rise of 2 % of travel and twenty times the noise; it began at the first of the readings before that
    which are all above five times the noise.

    Raises:
        ValueError: the track is empty.
    """
    first, _ = mean_and_noise(track[:_FIRST_READINGS])
    certain = max(_CERTAIN_RISE, _CERTAIN_NOISES * noise)
    index = next((i for i, reading in enumerate(track) if reading.value > first + certain), None)
    moving = index
    while moving is not None and moving > 0 and track[moving - 1].value > first + _LEAVES_BY * noise:
        moving -= 1
    still = track if moving is None else track[: max(1, moving - max(2, moving // 4))]
    level, scatter = mean_and_noise(still)
    return Rest(level, len(still), scatter**2 * (len(still) - 1), moving)


@lru_cache(maxsize=4)
def travel_noise(progress: tuple[Reading, ...]) -> float:
    """
    Standard deviation of one travel reading at rest, from the level stretches at both ends of a stroke.

    At least 0.02 % of travel, so that the last digit of a transmitter is not taken for motion.
    """
    if len(progress) <= _LEAST_READINGS:
        return LEAST_NOISE
    ends = (progress[:_FIRST_READINGS], progress[-_FIRST_READINGS:])
    at_ends = math.sqrt(math.fsum(mean_and_noise(end)[1] ** 2 for end in ends) / len(ends))
    # Polling so slow that most readings are in motion makes its curve look like noise; then the ends know better.
    rough = max(LEAST_NOISE, min(at_ends, typical_scatter(progress)))
    rests = (rest(progress, rough), rest(run_backwards(progress), rough))
    freedom = sum(one.count - 1 for one in rests)
    if freedom < _LEAST_FREEDOM:
        return rough
    return max(LEAST_NOISE, math.sqrt(math.fsum(one.squares for one in rests) / freedom))


def _departure(track: tuple[Reading, ...], noise: float, scan_ns: int, gap_words: str) -> Instant | None:
    if len(track) < _LEAST_READINGS:
        return None
    still = rest(track, noise)
    if not still.moving:
        return None
    before, after = track[still.moving - 1], track[still.moving]
    if after.at_ns - before.at_ns > longest_step_ns(track):
        return _plain(before, after, scan_ns, gap_words)
    window = _window(track[still.moving :], still.level, noise)
    if len(window) < _LEAST_READINGS:
        return _hidden_in_noise(_plain(before, after, scan_ns, ""), track, still, noise)
    ramp = fit_ramp(window)
    if len(window) > _RAMP_READINGS:
        ramp = _refit(track, ramp, still.level, noise)
    met = _meeting(ramp, still, noise, scan_ns, after.half_width_ns)
    latest_ns = after.at_ns + after.half_width_ns - min(0, scan_ns)
    return _plain(before, after, scan_ns, "") if met is None or met.at_ns > latest_ns else met


def _plain(before: Reading, after: Reading, scan_ns: int, note: str) -> Instant:
    found = between(before, after, scan_ns, note)
    return msgspec.structs.replace(found, widths_ns=tuple(abs(width) for width in found.widths_ns))


def _hidden_in_noise(seen: Instant, track: tuple[Reading, ...], still: Rest, noise: float) -> Instant:
    """The same moment, where a fast start was already under way in the reading before and lost in its noise."""
    moving = still.moving or 0
    if moving + 1 >= len(track):
        return seen
    after, later = track[moving], track[moving + 1]
    rise, step_ns = later.value - after.value, later.at_ns - after.at_ns
    if rise <= 0 or step_ns <= 0:
        return seen
    hidden_ns = round(min(step_ns, _LEAVES_BY * noise * step_ns / rise))
    return msgspec.structs.replace(
        seen,
        at_ns=seen.at_ns - hidden_ns // 2,
        widths_ns=(seen.widths_ns[0] + hidden_ns, *seen.widths_ns[1:]),
    )


def _window(moving: tuple[Reading, ...], level: float, noise: float) -> tuple[Reading, ...]:
    """The readings to fit: at least five, and far enough out of the noise, but within a fifth of travel."""
    count = 0
    for reading in moving:
        rise = reading.value - level
        if rise > _RAMP_LARGEST or (count >= _RAMP_READINGS and rise > _RAMP_NOISES * noise):
            break
        count += 1
    return moving[:count]


def _refit(track: tuple[Reading, ...], ramp: Ramp, level: float, noise: float) -> Ramp:
    """
    The ramp again, through the readings of the time in which the first one says travel was well off its rest.

    A slow stroke has many readings within the noise of the threshold; choosing by value favours those that noise
    lifts, choosing by time does not.
    """
    if ramp.slope <= 0:
        return ramp
    met_ns = ramp.mean_at_ns + (level - ramp.mean_value) / ramp.slope
    from_ns, to_ns = (met_ns + noises * noise / ramp.slope for noises in (_LEAVES_BY, _RAMP_NOISES))
    window = [reading for reading in track if from_ns <= reading.at_ns <= to_ns]
    return fit_ramp(window) if len(window) >= _RAMP_READINGS else ramp


def _meeting(ramp: Ramp, still: Rest, noise: float, scan_ns: int, reading_half_width_ns: int) -> Instant | None:
    """Where ramp and level meet, with what noise, scan and the readings' own times leave uncertain."""
    widths = (abs(scan_ns), 2 * reading_half_width_ns)
    time_variance = math.fsum(width**2 for width in widths) / 12
    # Unsure times flatten a fitted slope by the share that they have in the spread of the times.
    true_spread = ramp.spread_ns2 - (ramp.count - 1) * time_variance
    if ramp.slope <= 0 or true_spread < ramp.spread_ns2 / 2:
        return None
    back_ns = (still.level - ramp.mean_value) / ramp.slope * true_spread / ramp.spread_ns2
    weight = 1 / ramp.count + back_ns**2 / ramp.spread_ns2
    # Scatter about the ramp that the unsure times of the readings do not explain is noise, or curvature.
    unexplained = max(noise**2, ramp.residual**2 - ramp.slope**2 * time_variance)
    noise_ns = math.sqrt(unexplained * weight + noise**2 / still.count) / ramp.slope
    stretch = max(1.0, math.sqrt(weight)) * _BEAT
    at_ns = round(ramp.mean_at_ns + back_ns - scan_ns / 2)
    return Instant(at_ns, tuple(round(width * stretch) for width in widths), noise_ns, sources=READING)

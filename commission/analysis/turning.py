"""
Where a partial stroke turns: how far it went, and when it left that place again.

The farthest reading is too far by what noise adds and not far enough by what lies between two readings; both are in its
budget. The way back is a line through its first readings, and it began where that line meets the turning point: a valve
that stands there for a second has not begun.
"""

import math
from collections.abc import Sequence

from commission.analysis.budget import Budget, normal, rectangular
from commission.analysis.intervals import READING, Instant
from commission.analysis.motion import Ramp, fit_ramp
from commission.analysis.quantiles import two_sided_normal
from commission.sheet.decode import Reading

APPROACH = 0.02
"""Readings within 2 % of travel of the turning point are its neighbourhood."""

_NEAR_NOISES = 4
_OFF_NOISES = 6
_FAR_NOISES, _LEAST_STEPS = 30, 5
"""The line back goes thirty noises and five readings down: far out of the noise, straight in a slow stroke."""

_LEAST = 3
_PLATEAU = 4


def turning_budget(out: Sequence[Reading], back: Sequence[Reading], noise: float) -> tuple[Budget, int]:
    """
    What is unsure of the farthest reading, and how many readings are as near to being it.

    Args:
        out: Distance from the start end, up to and with the farthest reading.

        back: From the farthest reading on.

        noise: Standard deviation of one reading.
    """
    farthest = out[-1].value
    near = sum(reading.value >= farthest - _NEAR_NOISES * noise for reading in (*out, *back[1:]))
    lines = [normal("noise of travel", noise)]
    missed = between_readings(_step(out), _step(back))
    if missed and near < _PLATEAU:
        lines.append(rectangular("farther between two readings", missed))
    return Budget(tuple(lines)), near


def between_readings(before: float, after: float) -> float:
    """
    How far a peak between two readings may be beyond both, where the track rises by `before` a reading and falls by
    `after`: two lines that meet in between.
    """
    return before * after / (before + after) if before > 0 and after > 0 else 0.0


def left_turn(out: Sequence[Reading], back: Sequence[Reading], noise: float, scan_ns: int) -> Instant | None:
    """
    When the valve began its way back, or None where too few readings show it.

    Args:
        out: As for `turning_budget`.

        back: The same.

        noise: Standard deviation of one reading.

        scan_ns: The unit's scan time.
    """
    farthest = out[-1].value
    ramp = _ramp_back(back, farthest, noise)
    if ramp is None:
        return None
    budget, near = turning_budget(out, back, noise)
    # The largest of so many readings is too far by their median largest noise; half of them are already on a slope.
    level, level_noise = farthest - noise * two_sided_normal(2 * 0.5 ** (1 / near) - 1) / 2, noise
    on_top = _on_top(out, back, ramp, farthest)
    stood = len(on_top) >= _PLATEAU
    if stood:
        level = math.fsum(reading.value for reading in on_top) / len(on_top)
        level_noise = noise / math.sqrt(len(on_top))
    slope = abs(ramp.slope)
    back_ns = (level - ramp.mean_value) / ramp.slope
    weight = 1 / ramp.count + back_ns**2 / ramp.spread_ns2
    noise_ns = math.hypot(max(ramp.residual, noise) * math.sqrt(weight), level_noise) / slope
    missed = [line.width for line in budget.lines[1:]] if not stood else []
    at_ns = round(ramp.mean_at_ns + back_ns - scan_ns / 2)
    reading_ns = 2 * max(reading.half_width_ns for reading in back)
    widths = (scan_ns, reading_ns, *(round(2 * one / slope) for one in missed))
    return Instant(at_ns, widths, noise_ns, sources=(*READING, "farther between two readings"))


def _ramp_back(back: Sequence[Reading], farthest: float, noise: float) -> Ramp | None:
    # Farthest by chance, a valve that stands there is read two to five noises lower: none of those is on the way back.
    start = 1 + max(i for i, r in enumerate(back) if r.value >= farthest - _OFF_NOISES * noise)
    low = farthest - max(_FAR_NOISES * noise, _LEAST_STEPS * _step(back))
    count = next((i for i, r in enumerate(back[start:]) if r.value < low), len(back) - start)
    moving = list(back[start : start + max(_LEAST, count)])
    if len(moving) < _LEAST:
        return None
    ramp = fit_ramp(moving)
    return ramp if ramp.slope < 0 else None


def _on_top(out: Sequence[Reading], back: Sequence[Reading], ramp: Ramp, farthest: float) -> list[Reading]:
    """The readings between the way out and the way back, where the valve stood; none where it did not."""
    rising = [r for r in out if farthest - APPROACH <= r.value][:-1]
    away = fit_ramp(rising) if len(rising) >= _LEAST else None
    if away is None or away.slope <= 0:
        return []
    came_ns, left_ns = (one.mean_at_ns + (farthest - one.mean_value) / one.slope for one in (away, ramp))
    return [r for r in (*out, *back[1:]) if came_ns < r.at_ns < left_ns]


def _step(way: Sequence[Reading]) -> float:
    """How much travel changes from one reading to the next on this way, close to the turning point."""
    farthest = max(reading.value for reading in way)
    near = [reading.value for reading in way if reading.value >= farthest - APPROACH]
    return (max(near) - min(near)) / (len(near) - 1) if len(near) > 1 else 0.0

"""
How a stroke moves between its ends: speed over travel, cushioned ends, and sticking and slipping.

Speeds are taken between crossings of tenths of travel, so that a slow line still gives honest ones; sticking shows as
travel that jumps about a smooth curve by more than its own noise.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from commission.analysis import edges, motion
from commission.analysis.budget import Budget, Line, normal, rectangular
from commission.analysis.intervals import Instant
from commission.analysis.observed import StrokeObserved
from commission.analysis.quantiles import two_sided_normal
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading

METHOD = "profile.stroke/2"

TENTHS = tuple(tenth / 10 for tenth in range(1, 10))
"""Shares of the way at which crossings are taken."""

MIDDLE = (0.4, 0.6)
"""What is called half travel."""

CUSHION_FROM = 0.9
"""The last tenth of the way is where a cushion acts."""

_LEAST_READINGS = 8
_LEAST_BETWEEN, _MOST_BETWEEN = 2, 60
_NOISES = 20
_BEND_READINGS = 4


class Speed(msgspec.Struct, frozen=True):
    """Mean speed between two shares of the way, in shares a second, with its budget."""

    from_share: float
    to_share: float
    per_s: float
    budget: Budget


def speed_profile(progress: tuple[Reading, ...], scan_ns: int) -> tuple[Speed, ...]:
    """
    Mean speed of each tenth of the way between 10 % and 90 %.

    Args:
        progress: Travel as a fraction of the way, from the start end.

        scan_ns: The unit's scan time, the same at both ends of a tenth: it cancels but for its beat.

    Returns:
        As many as were seen; a tenth with a gap in it, or passed between two readings, is left out.
    """
    tenths = (speed_between(progress, low, high, scan_ns) for low, high in pairwise(TENTHS))
    return tuple(speed for speed in tenths if speed is not None)


def speed_between(progress: tuple[Reading, ...], low: float, high: float, scan_ns: int) -> Speed | None:
    """
    Mean speed between two shares of the way; None where one was not seen to be passed.

    Args:
        progress: As for `speed_profile`.

        low: Share of the way where it begins.

        high: Where it ends.

        scan_ns: The unit's scan time.
    """
    noise = motion.travel_noise(progress)
    start, end = (_crossing(progress, share, noise, scan_ns) for share in (low, high))
    if start is None or end is None:
        return None
    # Crossings interpolated within one pair of readings would only give that pair's mean back.
    seen = sum(start.at_ns < reading.at_ns - scan_ns // 2 < end.at_ns for reading in progress)
    return _speed(low, high, start, end) if seen >= _LEAST_BETWEEN else None


def _crossing(progress: tuple[Reading, ...], share: float, noise: float, scan_ns: int) -> Instant | None:
    """
    When travel passed a share of the way, and how far a bend just there may have moved it.

    Where the slope turns from s1 to s2 between two readings dt apart, a straight line between them is at most
    dt/2·|s1 − s2|/(s1 + s2) beside it.
    """
    crossed = edges.level_crossing(progress, share, noise, scan_ns)
    if crossed is None:
        return None
    after = next((i for i, r in enumerate(progress) if r.at_ns > crossed.at_ns + scan_ns // 2), 0)
    slopes = (_slope(progress, after, 1, noise), _slope(progress, after - 1, -1, noise))
    if after == 0 or min(slopes) <= 0:
        return crossed
    step_ns = progress[after].at_ns - progress[after - 1].at_ns
    bend_ns = round(step_ns * abs(slopes[0] - slopes[1]) / (slopes[0] + slopes[1]))
    return msgspec.structs.replace(crossed, widths_ns=(*crossed.widths_ns, bend_ns))


def _slope(progress: tuple[Reading, ...], start: int, way: int, noise: float) -> float:
    """Rise a nanosecond over the fewest readings that rise well out of the noise, forwards or backwards."""
    for count in range(_LEAST_BETWEEN, _MOST_BETWEEN):
        far = start + way * count
        if not 0 <= far < len(progress):
            return 0.0
        rise = (progress[far].value - progress[start].value) * way
        if rise > _NOISES * noise:
            return rise / ((progress[far].at_ns - progress[start].at_ns) * way)
    return 0.0


def _speed(low: float, high: float, start: Instant | None, end: Instant | None) -> Speed | None:
    if start is None or end is None or start.note or end.note or end.at_ns <= start.at_ns:
        return None
    seconds = (end.at_ns - start.at_ns) / 1e9
    per_s = (high - low) / seconds
    lines = [
        *_moment_lines("when it began", start, per_s / seconds),
        *_moment_lines("when it ended", end, per_s / seconds),
    ]
    return Speed(low, high, per_s, Budget(tuple(lines)))


def _moment_lines(name: str, moment: Instant, sensitivity: float) -> list[Line]:
    lines = [rectangular(name, width / 2e9, sensitivity) for width in moment.widths_ns if width]
    if moment.noise_ns:
        lines.append(normal(f"{name}, noise of travel", moment.noise_ns / 1e9, sensitivity))
    return lines


def end_to_middle_ratio(progress: tuple[Reading, ...], scan_ns: int) -> Figure | None:
    """
    Mean speed over the last tenth of the way over that around the middle: well below 1 where the end is cushioned.

    Args:
        progress: As for `speed_profile`.

        scan_ns: The unit's scan time.

    Returns:
        None where either was not seen.
    """
    start = _crossing(progress, CUSHION_FROM, motion.travel_noise(progress), scan_ns)
    last = _speed(CUSHION_FROM, 1.0, start, motion.motion_end(progress, scan_ns))
    middle = speed_between(progress, *MIDDLE, scan_ns)
    if last is None or middle is None:
        return None
    ratio = last.per_s / middle.per_s
    lines = [line.times(1 / middle.per_s) for line in last.budget.lines]
    lines += [line.times(-ratio / middle.per_s) for line in middle.budget.lines]
    return Budget(tuple(lines)).figure("end_to_middle_speed_ratio", ratio, "1", METHOD)


def stick_slip(progress: tuple[Reading, ...], moving_from_ns: int, moving_to_ns: int) -> Figure | None:
    """
    How far travel jumps about a smooth curve in motion, beyond its noise at rest, as a share of travel (rms).

    Of each four readings in a row the last is compared with the parabola through the other three, at the times that
    they were read; a smooth stroke, however curved, leaves only noise and unsure times. Noise at rest and the times'
    share are taken off as squares, so that nothing is left of them but what chance leaves.

    Args:
        progress: Travel as a fraction of the way.

        moving_from_ns: First moment that is surely in motion.

        moving_to_ns: Last one.

    Returns:
        None with too few readings in motion.

    Source: common practice, no source; the variance of the comparison is that of its weights (JCGM 100:2008, 5.1.2).
    """
    moving = [reading for reading in progress if moving_from_ns <= reading.at_ns <= moving_to_ns]
    if len(moving) < _LEAST_READINGS:
        return None
    jumps = _jumps(moving)
    count = len(jumps)
    variance = math.fsum(jump * jump for jump in jumps) / count
    at_rest = motion.travel_noise(progress) ** 2
    seconds = (moving[-1].at_ns - moving[0].at_ns) / 1e9
    speed = abs(moving[-1].value - moving[0].value) / seconds
    unsure_s = max(reading.half_width_ns for reading in moving) / 1e9
    by_times = (speed * unsure_s) ** 2 / 3
    beyond = variance - at_rest - by_times
    index = math.sqrt(beyond) if beyond > 0 else 0.0
    # Of jumps J with noise σ the mean square is off by √((4·J²·σ² + 2·σ⁴)/n); overlapping fours share readings, about
    # half as many are independent; σ² itself is known from the readings at rest to 1.65·√(2/n) of it (median).
    noise2 = at_rest + by_times
    at_rest_count = max(_LEAST_READINGS, len(progress) - len(moving))
    doubt = math.sqrt((4 * max(0.0, beyond) * noise2 + 2 * noise2**2) * 2 / count + 5.4 * noise2**2 / at_rest_count)
    reach = two_sided_normal() * doubt
    # The root of an interval of squares, to its farther end: near zero it reaches down to zero.
    half = max(math.sqrt(max(0.0, beyond) + reach) - index, index - math.sqrt(max(0.0, beyond - reach)))
    spread = normal("few readings, noise and times taken off", half / two_sided_normal())
    return Budget((spread,)).figure("stick_slip", index, "1", METHOD)


def _jumps(moving: Sequence[Reading]) -> list[float]:
    """Departure of each reading from the parabola through the three before it, over the size of its own noise."""
    found = []
    for four in zip(*(moving[first:] for first in range(_BEND_READINGS)), strict=False):
        weights = _extrapolation_weights([reading.at_ns for reading in four])
        if weights is None:
            continue
        departure = four[3].value - math.fsum(w * r.value for w, r in zip(weights, four, strict=False))
        found.append(departure / math.sqrt(1 + math.fsum(w * w for w in weights)))
    return found


def _extrapolation_weights(times: Sequence[int]) -> tuple[float, float, float] | None:
    """Weights of the first three values in the parabola through them, at the fourth time; None at equal times."""
    a, b, c, x = times
    if len({a, b, c}) < 3:
        return None
    return (
        (x - b) * (x - c) / ((a - b) * (a - c)),
        (x - a) * (x - c) / ((b - a) * (b - c)),
        (x - a) * (x - b) / ((c - a) * (c - b)),
    )


def profile_figures(
    observed: StrokeObserved, sheet: Sheet, start: Instant | None, end: Instant | None
) -> tuple[Figure, ...]:
    """
    Speed at half travel, cushioning of the end and stick-slip of one stroke; each only where it was seen.

    Args:
        observed: The stroke.

        sheet: For the scan.

        start: First motion.

        end: Last motion.
    """
    progress = observed.progress()
    if len(progress) < _LEAST_READINGS or start is None or end is None:
        return ()
    scan_ns = round(sheet.link.scan_s * 1e9)
    middle = speed_between(progress, *MIDDLE, scan_ns)
    found = (
        None if middle is None else middle.budget.figure("speed_at_half_travel", middle.per_s, "1/s", METHOD),
        end_to_middle_ratio(progress, scan_ns),
        stick_slip(progress, start.latest_ns, end.earliest_ns),
    )
    return tuple(figure for figure in found if figure is not None)

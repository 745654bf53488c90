"""
What a modulating valve makes of a step of its input: dead time, T63, T86, T98, overshoot, settling, and a fitted lag.

All times run from the step of the input (ANSI/ISA-75.25.01, in our words, from memory): the dead time until travel
starts to move, T63, T86 and T98 until 63.2, 86.5 and 98.2 % of the final change.
"""

import math
from itertools import pairwise

import msgspec

from commission.analysis import edges, motion
from commission.analysis.budget import Budget, normal
from commission.analysis.durations import duration_figure, duration_lines
from commission.analysis.intervals import Instant, between, duration_s, half_width_ns
from commission.analysis.observed import longest_step_ns
from commission.figure import Figure, make_figure
from commission.sheet.decode import Reading

METHOD = "response.step/2"

FRACTIONS = {"t63": 1 - math.exp(-1), "t86": 1 - math.exp(-2), "t98": 1 - math.exp(-4)}
"""Shares of the final change after one, two and four time constants of a first-order lag."""

SETTLED_WITHIN = 0.02
"""A step has settled when travel stays within 2 % of the change (common practice, no source)."""

_EARLY = 0.283
_LATE = 1 - math.exp(-1)
_NOISES = 5
_TAIL_SHARE = 0.2
_LEAST_READINGS = 10
_NOISE_OF_REST = 0.12
_BETWEEN_TWO = 0.82
"""Noise between two readings, on average over where between them, in that of one: √(w² + (1 − w)²)."""

_CROSSING_NOISE = {"t63": _BETWEEN_TWO, "t86": 0.95, "t98": 1.2}
"""Later in the step travel is slower, so that noise makes it cross a level more than once."""

_STILL_SURE = 2.2
"""So many scatters outside the band a reading is surely outside."""

_LEAST_TO_FIT = 4
_AROUND = 6
_NEAR_EDGE = 0.6
"""Readings on either side that the crossing into the band is fitted through."""


class NoResponse(Exception):  # the trade's word, not a fault of the program
    """Travel did not answer the step, or was not seen to its end."""


class TooFewReadings(NoResponse):
    """The step was not seen well enough to say that it was not answered."""


class StepSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    One step of the input and the travel that followed.

    Args:
        command: When the input stepped.

        size: Change of the input, as a fraction of span; negative downwards.

        travel: Readings from before the step until well after it, as a fraction of travel.

        scan_ns: The unit's scan time.
    """

    command: Instant
    size: float
    travel: tuple[Reading, ...]
    scan_ns: int


def step_figures(seen: StepSeen) -> tuple[Figure, ...]:
    """
    Dead time, T63, T86, T98, overshoot, settling time, gain of travel, and the lag and dead time of a fitted model.

    Raises:
        TooFewReadings: too few to see it.

        NoResponse: travel did not change by more than its noise.
    """
    before, after, noise = _levels(seen)
    change = after - before
    progress = tuple(
        Reading((reading.value - before) / change, reading.at_ns, reading.half_width_ns) for reading in seen.travel
    )
    share_noise = noise / abs(change)
    found = _times(seen, progress, share_noise)
    found.append(_overshoot(progress, share_noise))
    found += _settling(seen, progress, share_noise)
    tail, still = max(3, round(len(seen.travel) * _TAIL_SHARE)), _still(seen)
    by_noise = noise * math.sqrt(1 / tail + 1 / len(still))
    spread = normal("noise of travel, before and after", by_noise, 1 / abs(seen.size))
    found.append(Budget((spread,)).figure("travel_gain", change / seen.size, "1", METHOD))
    return tuple(found)


def _still(seen: StepSeen) -> list[Reading]:
    return [reading for reading in seen.travel if reading.at_ns <= seen.command.at_ns]


def _levels(seen: StepSeen) -> tuple[float, float, float]:
    """Travel before, travel at the end, noise of one reading."""
    still = _still(seen)
    tail = seen.travel[-max(3, round(len(seen.travel) * _TAIL_SHARE)) :]
    if len(seen.travel) < _LEAST_READINGS or len(still) < 3:
        raise TooFewReadings(f"{len(seen.travel)} readings, {len(still)} of them before the step: too few to see it")
    before, noise_before = edges.mean_and_noise(still)
    after = edges.mean_and_noise(tail)[0]
    noise = max(motion.LEAST_NOISE, noise_before, edges.typical_scatter(tail))
    if abs(after - before) <= _NOISES * noise:
        raise NoResponse(f"travel changed by {100 * (after - before):.2g} %, which its noise may do")
    return before, after, noise


def _times(seen: StepSeen, progress: tuple[Reading, ...], noise: float) -> list[Figure]:
    moved = motion.motion_start(progress, seen.scan_ns)
    found = [] if moved is None else [duration_figure("step_dead_time", seen.command, moved, METHOD)]
    for name, share in FRACTIONS.items():
        if noise > _NOISE_OF_REST * (1 - share):
            continue  # what is left of the way is hardly more than noise: the crossing could be anywhere
        crossed = edges.level_crossing(_until(progress, share), share, _CROSSING_NOISE[name] * noise, seen.scan_ns)
        if crossed is not None:
            found.append(duration_figure(name, seen.command, crossed, METHOD))
    early, late = (
        edges.level_crossing(_until(progress, share), share, _BETWEEN_TWO * noise, seen.scan_ns)
        for share in (_EARLY, _LATE)
    )
    if early is not None and late is not None and late.at_ns > early.at_ns:
        found += _first_order(seen.command, early, late)
    return found


def _until(progress: tuple[Reading, ...], share: float) -> tuple[Reading, ...]:
    """The readings up to a little after the first that is past the share for good: an overshoot crosses it again."""
    noise = 3 * motion.LEAST_NOISE
    for place, (one, other) in enumerate(pairwise(progress)):
        if one.value > share + noise and other.value > share + noise:
            return progress[: place + 2]
    return progress


def _first_order(command: Instant, early: Instant, late: Instant) -> list[Figure]:
    """
    Lag and dead time of the first-order model that passes the response at 28.3 and 63.2 %.

    Source: two-point method, τ = 1.5·(t63 − t28), dead time = t63 − τ (a usual one, from memory; held against the exact
    response of python-control in the tests).
    """
    apart_s, apart_half = duration_s(early, late)
    late_s, late_half = duration_s(command, late)
    lag_s = 1.5 * apart_s
    note = "of a first-order model with dead time, through 28.3 and 63.2 %"
    early_half = duration_s(command, early)[1]
    both = math.hypot(1.5 * early_half, 0.5 * late_half)  # dead time = 1.5·t28 − 0.5·t63
    lag = make_figure("model_lag", lag_s, 1.5 * apart_half, "s", METHOD, note=note)
    dead = make_figure("model_dead_time", late_s - lag_s, both, "s", METHOD, note=note)
    at_28, at_63 = duration_lines(command, early, ("command", "28.3 %")), duration_lines(command, late)
    by_both = (*(line.times(1.5) for line in at_28), *(line.times(-0.5) for line in at_63))
    by_lag = tuple(line.times(1.5) for line in duration_lines(early, late, ("28.3 %", "63.2 %")))
    return [
        msgspec.structs.replace(figure, budget=Budget(lines).printable())
        for figure, lines in ((lag, by_lag), (dead, by_both))
    ]


def _overshoot(progress: tuple[Reading, ...], noise: float) -> Figure:
    """Beyond the final change, as a share of it; the largest of many noisy readings is two noises too large."""
    largest = max(reading.value for reading in progress)
    tail = progress[-max(3, round(len(progress) * _TAIL_SHARE)) :]
    quiet = max(reading.value for reading in tail)
    over = max(0.0, largest - max(1.0, quiet)) if largest - quiet > noise else 0.0
    over = max(0.0, largest - 1.0 - 2 * noise) if over else 0.0
    return Budget((normal("noise of travel", 1.2 * noise),)).figure("overshoot", over, "1", METHOD)


def _settling(seen: StepSeen, progress: tuple[Reading, ...], noise: float) -> list[Figure]:
    """
    When travel came into its band for good: the last reading surely outside, and a line through those around it.

    A later swing that comes as near to the edge as noise makes doubtful leaves it open: then it is "at least" this.
    """
    last = next(
        (place for place in range(len(progress) - 1, -1, -1) if _outside(progress[place]) > _STILL_SURE * noise),
        None,
    )
    if last is None or last + 1 >= len(progress) or progress[last].at_ns <= seen.command.at_ns:
        return []
    if progress[last + 1].at_ns - progress[last].at_ns > longest_step_ns(progress):
        return []
    figure = duration_figure("settling_time", seen.command, _into_the_band(progress, last, noise, seen.scan_ns), METHOD)
    inside = _surely_inside(progress, last, 2 * noise)
    if any(_outside(later) > -_STILL_SURE * noise for later in progress[inside:]):
        words = "a later swing comes as near to the band's edge as its noise"
        note = "; ".join(part for part in (figure.note, words) if part)
        figure = msgspec.structs.replace(figure, lower_bound_only=True, note=note)
    return [figure]


def _outside(reading: Reading) -> float:
    """How far a reading is outside the band; below zero inside."""
    return abs(reading.value - 1) - SETTLED_WITHIN


def _surely_inside(progress: tuple[Reading, ...], last: int, noise: float) -> int:
    """The first reading after the last that is surely outside which is surely inside; the last of all where none is."""
    later = range(last + 1, len(progress))
    return next((i for i in later if _outside(progress[i]) < -_STILL_SURE * noise), len(progress) - 1)


def _near_the_edge(progress: tuple[Reading, ...], last: int, noise: float) -> tuple[Reading, ...]:
    """Readings in a row on either side of the last that is surely outside, as near to the band's edge as it."""
    reach = min(2 * _STILL_SURE * noise, _NEAR_EDGE * SETTLED_WITHIN)
    first = last
    while first > 0 and last - first < _AROUND and _outside(progress[first]) < reach:
        first -= 1
    end = last + 1
    while end < len(progress) and end - last < _AROUND and _outside(progress[end]) > -reach:
        end += 1
    return progress[first + 1 : end]


def _into_the_band(progress: tuple[Reading, ...], last: int, noise: float, scan_ns: int) -> Instant:
    """By a line through the readings near the edge, or between the two that are sure, whichever knows it better."""
    sure = between(progress[last], progress[_surely_inside(progress, last, noise)], scan_ns)
    near = _near_the_edge(progress, last, noise)
    if len(near) < _LEAST_TO_FIT:
        return sure
    side = 1.0 if progress[last].value > 1 else -1.0
    outside = tuple(Reading(side * (r.value - 1) - SETTLED_WITHIN, r.at_ns, r.half_width_ns) for r in near)
    ramp = motion.fit_ramp(outside)
    if ramp.slope >= 0:  # it touches the edge from within and goes back
        return sure
    at_ns = ramp.mean_at_ns - ramp.mean_value / ramp.slope
    weight = 1 / ramp.count + (at_ns - ramp.mean_at_ns) ** 2 / ramp.spread_ns2
    widths = (
        scan_ns,
        max(reading.half_width_ns for reading in near),
        (near[-1].at_ns - near[0].at_ns) // len(near),  # what the curve bends within the readings
    )
    fitted = Instant(round(at_ns) - scan_ns // 2, widths, noise * math.sqrt(weight) / abs(ramp.slope))
    return min(fitted, sure, key=lambda one: half_width_ns(one.widths_ns, one.noise_ns))

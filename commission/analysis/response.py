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
from commission.analysis.intervals import Instant, between, duration_s
from commission.analysis.observed import longest_step_ns
from commission.figure import Figure, make_figure
from commission.sheet.decode import Reading

METHOD = "response.step/1"

FRACTIONS = {"t63": 1 - math.exp(-1), "t86": 1 - math.exp(-2), "t98": 1 - math.exp(-4)}
"""Shares of the final change after one, two and four time constants of a first-order lag."""

SETTLED_WITHIN = 0.02
"""A step has settled when travel stays within 2 % of the change, or within its noise (common practice, no source)."""

_EARLY = 0.283
_LATE = 1 - math.exp(-1)
_NOISES = 5
_TAIL_SHARE = 0.2
_LEAST_READINGS = 10


class NoResponse(Exception):  # the trade's word, not a fault of the program
    """Travel did not answer the step, or was not seen to its end."""


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
        NoResponse: too few readings, or travel did not change by more than its noise.
    """
    before, after, noise = _levels(seen)
    change = after - before
    progress = tuple(
        Reading((reading.value - before) / change, reading.at_ns, reading.half_width_ns) for reading in seen.travel
    )
    share_noise = noise / abs(change)
    found = _times(seen, progress, share_noise)
    found.append(_overshoot(progress, share_noise))
    settled = _settled(progress, seen.scan_ns, share_noise)
    if settled is not None and settled.at_ns > seen.command.at_ns:
        found.append(_duration("settling_time", seen.command, settled))
    counted = max(1, round(len(seen.travel) * _TAIL_SHARE))
    spread = normal("noise of travel, before and after", noise * math.sqrt(2 / counted), 1 / abs(seen.size))
    found.append(Budget((spread,)).figure("travel_gain", change / seen.size, "1", METHOD))
    return tuple(found)


def _levels(seen: StepSeen) -> tuple[float, float, float]:
    """Travel before, travel at the end, noise of one reading."""
    still = [reading for reading in seen.travel if reading.at_ns <= seen.command.at_ns]
    tail = seen.travel[-max(3, round(len(seen.travel) * _TAIL_SHARE)) :]
    if len(seen.travel) < _LEAST_READINGS or len(still) < 3:
        raise NoResponse(f"{len(seen.travel)} readings, {len(still)} of them before the step: too few to see it")
    before, noise_before = edges.mean_and_noise(still)
    after = edges.mean_and_noise(tail)[0]
    noise = max(motion.LEAST_NOISE, noise_before, edges.typical_scatter(tail))
    if abs(after - before) <= _NOISES * noise:
        raise NoResponse(f"travel changed by {100 * (after - before):.2g} %, which its noise may do")
    return before, after, noise


def _times(seen: StepSeen, progress: tuple[Reading, ...], noise: float) -> list[Figure]:
    moved = motion.motion_start(progress, seen.scan_ns)
    found = [] if moved is None else [_duration("step_dead_time", seen.command, moved)]
    for name, share in FRACTIONS.items():
        crossed = edges.level_crossing(_until(progress, share), share, noise, seen.scan_ns)
        if crossed is not None:
            found.append(_duration(name, seen.command, crossed))
    early, late = (
        edges.level_crossing(_until(progress, share), share, noise, seen.scan_ns) for share in (_EARLY, _LATE)
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
    both = math.hypot(late_half, 1.5 * apart_half)
    return [
        make_figure("model_lag", lag_s, 1.5 * apart_half, "s", METHOD, note=note),
        make_figure("model_dead_time", late_s - lag_s, both, "s", METHOD, note=note),
    ]


def _overshoot(progress: tuple[Reading, ...], noise: float) -> Figure:
    """Beyond the final change, as a share of it; the largest of many noisy readings is two noises too large."""
    largest = max(reading.value for reading in progress)
    tail = progress[-max(3, round(len(progress) * _TAIL_SHARE)) :]
    quiet = max(reading.value for reading in tail)
    over = max(0.0, largest - max(1.0, quiet)) if largest - quiet > noise else 0.0
    over = max(0.0, largest - 1.0 - 2 * noise) if over else 0.0
    return Budget((normal("noise of travel", 1.2 * noise),)).figure("overshoot", over, "1", METHOD)


def _settled(progress: tuple[Reading, ...], scan_ns: int, noise: float) -> Instant | None:
    band = max(SETTLED_WITHIN, 4 * noise)
    for before, after in zip(reversed(progress[:-1]), reversed(progress), strict=False):
        if abs(before.value - 1) > band:
            gap = after.at_ns - before.at_ns > longest_step_ns(progress)
            moment = between(before, after, scan_ns)
            return None if gap else moment
    return None


def _duration(name: str, start: Instant, end: Instant) -> Figure:
    value_s, half_s = duration_s(start, end)
    return make_figure(name, value_s, half_s, "s", METHOD, note=end.note)

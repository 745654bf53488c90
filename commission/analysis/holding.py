"""
A valve that holds: how fast it drifts, and how much of that is only the oil growing warmer or colder.

Travel against time and temperature together, by least squares with both at once. Where the temperature stood still, or
only rose steadily with time, the two cannot be told apart, and the figure says so.
"""

import math
from collections.abc import Sequence

import msgspec

from commission.analysis.budget import Budget, student
from commission.figure import Figure

METHOD = "holding.drift/1"

_LEAST_SAMPLES = 5
_APART = 0.99
"""Where time and temperature go together closer than this correlation, nothing can be told of either."""

_SECONDS_AN_HOUR = 3600.0


class Held(msgspec.Struct, frozen=True):
    """One look at a valve that should stand still: seconds, travel as a fraction, oil temperature or None."""

    at_s: float
    travel: float
    oil_c: float | None = None


def hold_drift(samples: Sequence[Held]) -> tuple[Figure, ...]:
    """
    Drift in shares of travel an hour, and what a kelvin moves where that can be told apart.

    Args:
        samples: In any order, at least five at different times.

    Returns:
        `hold_drift` in 1/h, and `travel_per_kelvin` in 1/K where temperature was seen to move by itself.

    Raises:
        ValueError: fewer than five samples, or all of one time.

    Source: least squares with two explanatory quantities, closed form; standard uncertainties from the residuals
    (JCGM 100:2008, H.3, for one; two after any textbook on regression).
    """
    if len(samples) < _LEAST_SAMPLES:
        raise ValueError(f"at least {_LEAST_SAMPLES} samples, not {len(samples)}")
    times = _centred([sample.at_s / _SECONDS_AN_HOUR for sample in samples])
    travel = _centred([sample.travel for sample in samples])
    if not any(times):
        raise ValueError("samples at different times")
    warmth = [sample.oil_c for sample in samples if sample.oil_c is not None]
    if len(warmth) < len(samples):
        return (_alone(times, travel, "oil temperature was not read: it may be all of it"),)
    oil = _centred(warmth)
    together = _sum(times, oil)
    spread = math.sqrt(_sum(times, times) * _sum(oil, oil))
    if spread == 0:
        return (_alone(times, travel, "oil temperature stood still"),)
    if abs(together) > _APART * spread:
        return (_alone(times, travel, "oil temperature rose or fell with time: what it did cannot be told apart"),)
    return _both(times, oil, travel)


def _alone(times: Sequence[float], travel: Sequence[float], note: str) -> Figure:
    square = _sum(times, times)
    slope = _sum(times, travel) / square
    residual = math.fsum((y - slope * t) ** 2 for t, y in zip(times, travel, strict=True))
    freedom = len(times) - 2
    line = student("scatter about the line", math.sqrt(residual / freedom / square), freedom)
    return Budget((line,)).figure("hold_drift", slope, "1/h", METHOD, note=note)


def _both(times: Sequence[float], oil: Sequence[float], travel: Sequence[float]) -> tuple[Figure, Figure]:
    tt, oo, to = _sum(times, times), _sum(oil, oil), _sum(times, oil)
    ty, oy = _sum(times, travel), _sum(oil, travel)
    whole = tt * oo - to * to
    per_hour = (oo * ty - to * oy) / whole
    per_kelvin = (tt * oy - to * ty) / whole
    residual = math.fsum(
        (y - per_hour * t - per_kelvin * o) ** 2 for t, o, y in zip(times, oil, travel, strict=True)
    )  # fmt: skip
    freedom = len(times) - 3
    variance = residual / freedom
    by_time = student("scatter about the plane", math.sqrt(variance * oo / whole), freedom)
    by_oil = student("scatter about the plane", math.sqrt(variance * tt / whole), freedom)
    return (
        Budget((by_time,)).figure("hold_drift", per_hour, "1/h", METHOD, note="oil temperature taken off"),
        Budget((by_oil,)).figure("travel_per_kelvin", per_kelvin, "1/K", METHOD),
    )


def _centred(values: Sequence[float]) -> list[float]:
    mean = math.fsum(values) / len(values)
    return [value - mean for value in values]


def _sum(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))

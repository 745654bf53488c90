"""
The same figure visit after visit: does it wander, does it drift, and when will it be at its limit?

Individuals with moving range (is one visit out of line?), exponentially weighted mean (is there a small shift?), a step
(since which visit?), and a slope with its confidence (when will it be at the limit?).
"""

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise

import msgspec

from commission.analysis.budget import Budget, student
from commission.analysis.line_fit import LineFit, fit_line
from commission.figure import Figure

METHOD = "trend.visits/1"

D2_OF_TWO = 1.128
"""Mean range of two normal values, in standard deviations."""

D4_OF_TWO = 3.267
"""Upper limit of a moving range of two over its mean."""

SIGMAS = 3


class Chart(msgspec.Struct, frozen=True, kw_only=True):
    """
    Values with their centre and limits.

    Args:
        values: One a visit.

        centre: The centre line.

        low: Lower limit.

        high: Upper limit.

        outside: Which visits are outside, counted from 0.
    """

    values: tuple[float, ...]
    centre: float
    low: float
    high: float
    outside: tuple[int, ...]


def individuals(values: Sequence[float]) -> tuple[Chart, Chart]:
    """
    Individuals chart and moving-range chart.

    Args:
        values: One a visit, in order; at least two.

    Raises:
        ValueError: fewer than two values.

    Source: NIST/SEMATECH e-Handbook, 6.3.2.2: mean ± 3·MR/1.128; ranges up to 3.267·MR.
    """
    if len(values) < 2:
        raise ValueError("a chart needs two visits at least")
    ranges = [abs(after - before) for before, after in pairwise(values)]
    centre, mean_range = math.fsum(values) / len(values), math.fsum(ranges) / len(ranges)
    reach = SIGMAS * mean_range / D2_OF_TWO
    return (
        _chart(values, centre, centre - reach, centre + reach),
        _chart(ranges, mean_range, 0.0, D4_OF_TWO * mean_range),
    )


def ewma(values: Sequence[float], target: float, deviation: float, weight: float = 0.3) -> Chart:
    """
    Exponentially weighted moving average, which sees a small lasting shift earlier than single values do.

    Args:
        values: One a visit, in order.

        target: Where it starts, and the centre: mean of the baselines.

        deviation: Standard deviation of a value, from the baselines.

        weight: Of the latest value, above 0 and at most 1.

    Raises:
        ValueError: the weight is outside its range, or the deviation is negative.

    Source: NIST/SEMATECH e-Handbook, 6.3.2.4, with its limits for many values: ± 3·s·√(λ/(2 − λ)).
    """
    if not 0 < weight <= 1 or not deviation >= 0:
        raise ValueError(f"a weight above 0 and at most 1 and a deviation, not {weight} and {deviation}")
    means = list(accumulate(values, lambda before, value: weight * value + (1 - weight) * before, initial=target))
    reach = SIGMAS * deviation * math.sqrt(weight / (2 - weight))
    return _chart(means, target, target - reach, target + reach)


def _chart(values: Sequence[float], centre: float, low: float, high: float) -> Chart:
    outside = tuple(place for place, value in enumerate(values) if not low <= value <= high)
    return Chart(values=tuple(values), centre=centre, low=low, high=high, outside=outside)


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """
    The best single step in the mean.

    Args:
        last_before: Index of the last value of the first part.

        mean_before: Mean up to it.

        mean_after: Mean of the rest.

        squares: Sum of squares about the two means.

        squares_without: About one mean.
    """

    last_before: int
    mean_before: float
    mean_after: float
    squares: float
    squares_without: float


def step_change(values: Sequence[float]) -> Step:
    """
    Since when: the split into two parts with the least scatter about their own means.

    Args:
        values: In order, at least four; each part keeps two.

    Raises:
        ValueError: fewer than four values.

    Source: least squares with one change point (Cobb, Biometrika 65, 1978, for the Nile flow of the tests).
    """
    if len(values) < 4:
        raise ValueError("a step needs four values at least")
    parts = ((_squares(values[:cut]), _squares(values[cut:]), cut) for cut in range(2, len(values) - 1))
    before, after, cut = min(parts, key=lambda part: (part[0][1] + part[1][1], part[2]))
    return Step(
        last_before=cut - 1,
        mean_before=before[0],
        mean_after=after[0],
        squares=before[1] + after[1],
        squares_without=_squares(values)[1],
    )


def _squares(values: Sequence[float]) -> tuple[float, float]:
    mean = math.fsum(values) / len(values)
    return mean, math.fsum((value - mean) ** 2 for value in values)


class Crossing(msgspec.Struct, frozen=True, kw_only=True):
    """
    When a trend will be at its limit, in the unit of the inputs; `never_by` None for what has no answer.

    Args:
        earliest: Lower end of the 95 % interval.

        estimate: Where the line itself meets the limit.

        latest: Upper end.

        next_visit: The first planned visit at or after `earliest`, counted from 1 after the last; None where the
            interval of visits was not given.

        words: For the screen and the report.
    """

    earliest: float | None
    estimate: float | None
    latest: float | None
    next_visit: int | None
    words: str


def slope_of(name: str, inputs: Sequence[float], values: Sequence[float], unit: str) -> Figure:
    """
    Drift of a figure over time, with its 95 % confidence.

    Args:
        name: Of the new figure.

        inputs: Times of the visits, in years.

        values: The figure at each, at least three.

        unit: Of the drift, as `s/a`.

    Raises:
        ValueError: fewer than three visits, or all at one time.
    """
    line = fit_line(inputs, values)
    scatter = student("scatter about the line", line.slope_standard, line.freedom)
    return Budget((scatter,)).figure(name, line.slope, unit, METHOD, note=f"{line.count} visits")


def crossing(line: LineFit, limit: float, last: float, between: float | None = None) -> Crossing:
    """
    When a line of visits will meet a limit, and at which visit it may first be found there.

    Args:
        line: Of the figure over time.

        limit: In the figure's unit.

        last: Time of the latest visit, in the line's unit.

        between: Time from visit to visit; None where it is not known.
    """
    met = line.meets(limit)
    if met is None:
        return Crossing(
            earliest=None,
            estimate=None,
            latest=None,
            next_visit=None,
            words="no trend: the slope may as well be zero",
        )
    earliest, estimate, latest = met
    if latest <= last:
        return _met(met, None, "the trend was at the limit before the latest visit")
    if (limit - line.value(last)) * line.slope <= 0:
        return _met(met, None, "the trend moves away from the limit")
    visit = None if between is None else max(1, math.ceil((earliest - last) / between))
    until = f"{max(earliest, last) - last:.3g} to {latest - last:.3g}"
    words = f"at the limit in {estimate - last:.3g} ({until}) from the latest visit"
    return _met(met, visit, words if visit is None else f"{words}: it may be found there at visit {visit} from now")


def _met(met: tuple[float, float, float], visit: int | None, words: str) -> Crossing:
    return Crossing(earliest=met[0], estimate=met[1], latest=met[2], next_visit=visit, words=words)

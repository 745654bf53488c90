"""
Several strokes of one kind: how well they repeat, and how opening compares with closing.

Works on figures as they were stored, so that anyone can do the sum again with a pencil.
"""

import math
from collections.abc import Sequence

from commission.analysis.budget import Budget, Line, normal
from commission.analysis.decision import Limits
from commission.analysis.quantiles import two_sided_normal
from commission.figure import Figure

METHOD = "repeats.series/2"

REPEATABILITY_LIMITS = Limits(high="0.05")
REPEATABILITY_ORIGIN = "three strokes within ± 5 % of their mean; common practice, no source"
LEAST_RUNS = 3
"""Fewer strokes say nothing of how they repeat."""


BY_CHANCE = 0.66
"""So many standard uncertainties the farthest of three to five equal strokes seems to be apart."""


def repeatability(times: Sequence[Figure]) -> Figure:
    """
    The largest departure of one stroke from the mean of all, as a share of the mean.

    Args:
        times: The same figure of several strokes in one direction; none of them only a lower bound.

    Raises:
        ValueError: fewer than three, different figures, a lower bound, or a mean that is not above zero.

    Source: departure from the mean, with the uncertainty of each time through it (JCGM 100:2008, 5.1.2).
    """
    mean, values = _mean(times)
    farthest = max(range(len(values)), key=lambda index: abs(values[index] - mean))
    largest = abs(values[farthest] - mean) / mean
    count = len(values)
    lines = [
        _time_line(index, time, ((index == farthest) - 1 / count) / mean) for index, time in enumerate(times)
    ]  # fmt: skip
    # Where strokes differ by no more than their own uncertainty, the farthest of them does so by chance.
    chance = math.sqrt(math.fsum(line.contribution**2 for line in lines))
    lines.append(normal("farthest of several", chance, BY_CHANCE))
    kind = times[0].name.replace("_", " ")
    note = f"{len(times)} strokes, mean {kind} {mean:.4g} {times[0].unit}"
    return Budget(tuple(lines)).figure("repeatability", largest, "1", METHOD, note=note)


def asymmetry(opening: Sequence[Figure], closing: Sequence[Figure]) -> Figure:
    """
    Mean opening time over mean closing time of these strokes; 1 where both ways take as long.

    Raises:
        ValueError: as for `repeatability`.
    """
    open_mean, _ = _mean(opening)
    close_mean, _ = _mean(closing)
    ratio = open_mean / close_mean
    lines = [
        *(_time_line(i, time, 1 / len(opening) / close_mean, ", opening") for i, time in enumerate(opening)),
        *(_time_line(i, time, -ratio / len(closing) / close_mean, ", closing") for i, time in enumerate(closing)),
    ]
    note = " over ".join(dict.fromkeys(times[0].name.replace("_", " ") for times in (opening, closing)))
    return Budget(tuple(lines)).figure("opening_to_closing_ratio", ratio, "1", METHOD, note=note)


def _mean(times: Sequence[Figure]) -> tuple[float, list[float]]:
    if len(times) < LEAST_RUNS:
        raise ValueError(f"at least {LEAST_RUNS} strokes, not {len(times)}")
    if len({(time.name, time.unit) for time in times}) != 1:
        raise ValueError("the same figure of each stroke")
    if any(time.lower_bound_only for time in times):
        raise ValueError("a time that is only a lower bound has no mean")
    values = [float(time.decimal) for time in times]
    mean = math.fsum(values) / len(values)
    if not mean > 0:
        raise ValueError(f"a mean above zero, not {mean:g}")
    return mean, values


def _time_line(index: int, time: Figure, sensitivity: float, way: str = "") -> Line:
    spread = float(time.uncertainty_decimal) / two_sided_normal()
    return normal(f"time of stroke {index + 1}{way}", spread, sensitivity)

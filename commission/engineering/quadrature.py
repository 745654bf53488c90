"""
Integrals and means as fixed sums, so that the same sheet gives the same digits everywhere.

Composite Simpson rule on equal steps. The functions integrated here have corners (a load curve is a polygon), so the
number of steps is fixed and ample rather than adaptive: doubling it moves no stroke time of the demonstration station
by more than 2 parts in 100,000 (tested).
"""

import math
from collections.abc import Callable

STEPS = 720
"""Even; a quarter of it is even too, so that corners at quarters of travel fall on the grid."""


def integral(function: Callable[[float], float], low: float, high: float, steps: int = STEPS) -> float:
    """
    The integral of a function from `low` to `high`.

    Args:
        function: Evaluated at `steps` + 1 points; infinity makes the integral infinite.

        low: From.

        high: To.

        steps: Even and above zero.

    Raises:
        ValueError: the number of steps is odd or not above zero.

    Source: Simpson's rule (textbook).
    """
    if steps <= 0 or steps % 2:
        raise ValueError("an even number of steps above zero")
    width = (high - low) / steps
    weights = (1.0 if place in (0, steps) else 4.0 if place % 2 else 2.0 for place in range(steps + 1))
    values = [function(low + place * width) for place in range(steps + 1)]
    if math.inf in values:
        return math.inf
    return math.fsum(weight * value for weight, value in zip(weights, values, strict=True)) * width / 3


def mean(function: Callable[[float], float], low: float, high: float, steps: int = STEPS) -> float:
    """The mean of a function from `low` to `high`."""
    return integral(function, low, high, steps) / (high - low)

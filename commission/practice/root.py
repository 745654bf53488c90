"""Where a continuous function is nought, between two places where its sign differs."""

from collections.abc import Callable


def find_root(function: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """
    A root between two points where the function differs in sign (Illinois variant of false position).

    Args:
        function: Continuous.

        low: One end.

        high: The other end.

        tolerance: Of the function's value.
    """
    at_low, at_high = function(low), function(high)
    for _ in range(60):
        if at_low == at_high:
            return high
        middle = high - at_high * (high - low) / (at_high - at_low)
        at_middle = function(middle)
        if abs(at_middle) <= tolerance:
            return middle
        if (at_middle > 0.0) != (at_high > 0.0):
            low, at_low = high, at_high
        else:
            at_low *= 0.5
        high, at_high = middle, at_middle
    return high

"""
Water in the oil: below freezing it holds the dump or emergency valve, now shorter, now longer, now for good.

Above 0 °C nothing shows; from there to -10 °C it gets worse (common practice, no source: erratic in frost, well again
when warm).
"""

import math
import random

from commission.practice.condition import Condition

_WORST_C = -10.0
_LONGEST_S = 20.0
_FAST_AT = 0.7
"""Beyond this share of the worst it does not come free by itself."""


class Ice:
    """
    What ice does to one valve.

    Args:
        condition: How much water there is.

        seed: Of how it happens to freeze.
    """

    def __init__(self, condition: Condition, seed: int) -> None:
        self._share = condition.water_share
        self._random = random.Random(seed)  # noqa: S311  # ice, not a secret

    def holds_s(self, oil_c: float) -> float:
        """How long the valve sticks this time; infinity where it does not come free."""
        frost = min(1.0, max(0.0, oil_c / _WORST_C))
        if not self._share or not frost:
            return 0.0
        held = self._share * frost * self._random.random()
        return math.inf if held > _FAST_AT else held * _LONGEST_S

"""
What the unit's own instruments make of the truth: limit contacts, noise, resolution.

Noise is a function of seed and scan number alone, so a run repeats whoever reads it and how often.
"""

import random

from commission.practice.condition import Condition
from commission.sheet import End

_OPEN_MAKES_PCT = 99.0
_CLOSED_MAKES_PCT = 1.5
_DIFFERENTIAL_PCT = 1.0
_CHATTER_SHARE = 0.3

TRAVEL_NOISE_PCT = 0.05
PRESSURE_NOISE_BAR = 0.1
SUPPLY_NOISE_V = 0.02


class Limits:
    """
    The two limit contacts, with the difference between make and break; `levers` are those held by hand, made or not.

    Args:
        condition: Whether the closed limit's screw is loose.

        seed: Of the chatter.
    """

    def __init__(self, condition: Condition, seed: int) -> None:
        self.open_made = False
        self.closed_made = False
        self.chatters = condition.closed_limit_chatters
        self.levers: dict[End, bool] = {}
        self._random = random.Random(seed)  # noqa: S311  # chatter of a contact, not a secret

    def scan(self, travel_pct: float) -> None:
        """One scan at a travel."""
        self.open_made = travel_pct >= _OPEN_MAKES_PCT - (_DIFFERENTIAL_PCT if self.open_made else 0.0)
        self.closed_made = travel_pct <= _CLOSED_MAKES_PCT + (_DIFFERENTIAL_PCT if self.closed_made else 0.0)
        self.open_made = self.levers.get(End.OPEN, self.open_made)
        self.closed_made = self.levers.get(End.CLOSED, self.closed_made)
        if self.chatters and self.closed_made and self._random.random() < _CHATTER_SHARE:
            self.closed_made = False


class Noise:
    """
    Noise of one scan's readings, uniform within its half-width.

    Args:
        seed: Of the unit.

        scan: Number of the scan.
    """

    def __init__(self, seed: int, scan: int) -> None:
        self._random = random.Random(seed * 1_000_003 + scan)  # noqa: S311  # noise, not a secret

    def around(self, value: float, half_width: float, resolution: float) -> float:
        """A value with noise, on the instrument's own steps."""
        noisy = value + self._random.uniform(-half_width, half_width)
        return round(noisy / resolution) * resolution

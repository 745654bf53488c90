"""
What the unit's own instruments make of the truth: limit contacts, position sensor, noise, resolution.

Noise is a function of seed and scan number alone, so a run repeats whoever reads it and how often.
"""

import random
from bisect import bisect_right

from commission.practice.condition import Condition
from commission.sheet import End

_OPEN_MAKES_PCT = 99.0
_CLOSED_MAKES_PCT = 1.5
_DIFFERENTIAL_PCT = 1.0
_CHATTER_SHARE = 0.3
_WORN_HALF_PCT = 1.0

TRAVEL_NOISE_PCT = 0.05
PRESSURE_NOISE_BAR = 0.1
SUPPLY_NOISE_V = 0.02


class Limits:
    """
    The two limit contacts, with the difference between make and break; `levers` are those held by hand, made or not.

    Args:
        condition: Whether the closed limit's screw is loose, and how early each makes.

        seed: Of the chatter.
    """

    def __init__(self, condition: Condition, seed: int) -> None:
        self.open_made = False
        self.closed_made = False
        self.chatters = condition.closed_limit_chatters
        self.levers: dict[End, bool] = {}
        self._open_makes_pct = _OPEN_MAKES_PCT - condition.open_limit_early_pct
        self._closed_makes_pct = _CLOSED_MAKES_PCT + condition.closed_limit_early_pct
        self._random = random.Random(seed)  # noqa: S311  # chatter of a contact, not a secret

    def scan(self, travel_pct: float) -> None:
        """One scan at a travel."""
        self.open_made = travel_pct >= self._open_makes_pct - (_DIFFERENTIAL_PCT if self.open_made else 0.0)
        self.closed_made = travel_pct <= self._closed_makes_pct + (_DIFFERENTIAL_PCT if self.closed_made else 0.0)
        self.open_made = self.levers.get(End.OPEN, self.open_made)
        self.closed_made = self.levers.get(End.CLOSED, self.closed_made)
        if self.chatters and self.closed_made and self._random.random() < _CHATTER_SHARE:
            self.closed_made = False

    def set_right(self) -> None:
        """Both cams are set to where they belong, and their screws tightened."""
        self.chatters = False
        self._open_makes_pct, self._closed_makes_pct = _OPEN_MAKES_PCT, _CLOSED_MAKES_PCT


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


class PositionSensor:
    """
    The unit's own position sensor, which sits on the actuator, and its feedback current.

    Args:
        condition: A slipped clamp, noise, a worn track, a span that is off.
    """

    def __init__(self, condition: Condition) -> None:
        self.offset_pct = condition.sensor_offset_pct
        self.noise_pct = TRAVEL_NOISE_PCT + condition.sensor_noise_pct
        self._worn_pct = condition.sensor_worn_at_pct
        self.feedback_ma_at = condition.feedback_ma_at

    def travel_pct(self, true_pct: float) -> float:
        """What it makes of a travel, before noise."""
        if self._worn_pct is not None and abs(true_pct - self._worn_pct) < _WORN_HALF_PCT:
            return 0.0
        return true_pct + self.offset_pct

    def feedback_ma(self, sensed_pct: float) -> float:
        """The current that says so: 4 mA closed, 20 mA open, or by the points that were found."""
        points = self.feedback_ma_at
        if not points:
            return 4.0 + 0.16 * sensed_pct
        step_pct = 100.0 / (len(points) - 1)
        index = min(max(bisect_right(range(1, len(points) - 1), sensed_pct / step_pct), 0), len(points) - 2)
        share = sensed_pct / step_pct - index
        return points[index] + share * (points[index + 1] - points[index])

"""What the fixtures of the practice unit's tests hand out."""

from collections.abc import Callable

from commission.practice.unit import PracticeUnit

MakeUnit = Callable[..., PracticeUnit]
Until = Callable[..., float]

"""Short tracks of readings with a known truth, for the tests of `analysis`."""

import random
from collections.abc import Callable

from commission.sheet.decode import Reading


def track(
    truth: Callable[[float], float],
    last_s: float,
    *,
    period_s: float = 0.1,
    noise: float = 0.0,
    half_width_s: float = 0.0,
    seed: int = 1,
) -> tuple[Reading, ...]:
    """Readings of `truth` from 0 to `last_s`, with normal noise and reading times that are uniformly unsure."""
    random_ = random.Random(seed)
    found, at_s = [], random_.random() * period_s
    while at_s < last_s:
        read_s = at_s + (random_.uniform(-half_width_s, half_width_s) if half_width_s else 0.0)
        value = truth(read_s) + (random_.gauss(0, noise) if noise else 0.0)
        found.append(Reading(value, round(at_s * 1e9), round(half_width_s * 1e9)))
        at_s += period_s
    return tuple(found)


def ramp(start_s: float, seconds: float) -> Callable[[float], float]:
    """From 0 to 1, straight, from `start_s` on."""
    return lambda at_s: min(1.0, max(0.0, (at_s - start_s) / seconds))

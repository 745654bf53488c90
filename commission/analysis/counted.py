"""How often something may happen that was seen so many times in so many tries: the exact bound of a binomial."""

import math

CONFIDENCE = 0.95
_HALVINGS = 60


def upper_bound(seen: int, tries: int, confidence: float = CONFIDENCE) -> float:
    """
    The largest share that so few in so many tries leave possible, one-sided.

    Args:
        seen: How often it happened.

        tries: In how many independent tries.

        confidence: Of the statement.

    Raises:
        ValueError: it happened more often than it was tried, or nothing was tried.

    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404: the share at which at most `seen` have the
    probability 1 - confidence; for none seen, 1 - (1 - confidence)^(1/tries).
    """
    if tries <= 0 or not 0 <= seen <= tries:
        raise ValueError(f"{seen} of {tries} is no count")
    if seen == tries:
        return 1.0
    low, high = seen / tries, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _at_most(seen, tries, middle) > 1.0 - confidence else (low, middle)
    return high


def _at_most(seen: int, tries: int, share: float) -> float:
    """Probability of at most so many."""
    if share >= 1.0:
        return 0.0
    every = math.lgamma(tries + 1)
    return math.fsum(
        math.exp(
            every
            - math.lgamma(count + 1)
            - math.lgamma(tries - count + 1)
            + (count * math.log(share) if count else 0.0)
            + (tries - count) * math.log1p(-share)
        )
        for count in range(seen + 1)
    )

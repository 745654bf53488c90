"""
Quantiles of the normal and of Student's distribution, without a numerical library: the same digits on every machine.

A figure that is stored rests on them (design: recompute), so they are closed forms and bisection, not tables.
"""

import math
from functools import lru_cache
from statistics import NormalDist

COVERAGE = 0.95
"""What "expanded uncertainty" means everywhere in this program."""

_SERIES_FROM = 200
"""From here on the expansion in 1/ν agrees with the closed form to better than 1e-10."""


def normal_below(deviations: float) -> float:
    """Probability that a standard normal value is at most `deviations`."""
    return math.erfc(-deviations / math.sqrt(2)) / 2


@lru_cache(maxsize=64)
def two_sided_normal(coverage: float = COVERAGE) -> float:
    """How many standard deviations hold `coverage` of a normal distribution around its mean: 1.960 for 95 %."""
    return NormalDist().inv_cdf((1 + coverage) / 2)


def within_student(deviations: float, degrees_of_freedom: int) -> float:
    """
    Probability that |T| is at most `deviations`, for whole degrees of freedom.

    Raises:
        ValueError: fewer than one degree of freedom.

    Source: closed form for whole degrees of freedom, Abramowitz and Stegun, 26.7.3 and 26.7.4 (from memory; held
    against SciPy in the tests).
    """
    if degrees_of_freedom < 1:
        raise ValueError(f"at least one degree of freedom, not {degrees_of_freedom}")
    angle = math.atan2(deviations, math.sqrt(degrees_of_freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = degrees_of_freedom % 2
    term = cosine if odd else 1.0
    terms = []
    for power in range(odd, degrees_of_freedom - 1, 2):
        terms.append(term)
        term *= cosine * cosine * (power + 1) / (power + 2)
    series = sine * math.fsum(terms)
    return (angle + series) * 2 / math.pi if odd else series


@lru_cache(maxsize=1024)
def two_sided_student(degrees_of_freedom: float, coverage: float = COVERAGE) -> float:
    """
    How many standard uncertainties hold `coverage`, for so many degrees of freedom: 2.228 for 95 % and 10.

    Args:
        degrees_of_freedom: Cut to the next lower whole number; infinite gives the normal value.

        coverage: Two-sided.

    Raises:
        ValueError: fewer than one degree of freedom.

    Source: JCGM 100:2008, G.3 (Student's distribution) and G.4.1 (cut to the next lower whole number).
    """
    normal = two_sided_normal(coverage)
    if math.isinf(degrees_of_freedom):
        return normal
    whole = math.floor(degrees_of_freedom)
    if whole >= _SERIES_FROM:
        return _expanded_in_freedom(normal, whole)
    low, high = 0.0, 1.0
    while within_student(high, whole) < coverage:
        high *= 2
    while True:
        middle = (low + high) / 2
        if middle in (low, high):
            return high
        if within_student(middle, whole) < coverage:
            low = middle
        else:
            high = middle


def _expanded_in_freedom(normal: float, degrees_of_freedom: int) -> float:
    """Student's quantile as a series in 1/ν around the normal one (Abramowitz and Stegun, 26.7.5, from memory)."""
    z, z2 = normal, normal * normal
    terms = (
        z,
        z * (z2 + 1) / 4 / degrees_of_freedom,
        z * ((5 * z2 + 16) * z2 + 3) / 96 / degrees_of_freedom**2,
        z * (((3 * z2 + 19) * z2 + 17) * z2 - 15) / 384 / degrees_of_freedom**3,
        z * ((((79 * z2 + 776) * z2 + 1482) * z2 - 1920) * z2 - 945) / 92160 / degrees_of_freedom**4,
    )
    return math.fsum(terms)

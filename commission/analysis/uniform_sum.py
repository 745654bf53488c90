"""
The 95 % interval of a sum of a few uniform terms and a normal one, in closed form.

Where bounds of a data sheet or a resolution dominate, the usual factor of 1.96 claims more than there is: one uniform
term alone has its 95 % at 0.95 of its bound, which is 1.65 standard uncertainties. `intervals` does the same in whole
nanoseconds for moments; here the terms are numbers of any unit, and what is normal stays normal.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import product

from commission.analysis.quantiles import COVERAGE, normal_below, two_sided_normal

MOST_TERMS = 5
"""More uniform terms than this are normal enough together; each doubles the work."""

_SMALL_SHARE = 0.1
"""A uniform term below this share of the whole standard uncertainty is as good as normal: it moves U by under 1e-4."""

_STEPS = 200


def half_width(half_widths: Sequence[float], normal: float, coverage: float = COVERAGE) -> float:
    """
    Half-width of the interval around zero that holds `coverage` of the sum, in the unit of the terms.

    Args:
        half_widths: Half-width of each uniform term; a triangle is two equal ones, a trapezoid two unequal ones.

        normal: Standard deviation of the normal term; 0 for none.

        coverage: Two-sided probability.

    Raises:
        ValueError: a term is negative or not finite.

    Source: JCGM 101:2008, 6.4.2 and 6.4.7; the sum's distribution is the alternating sum over the corners of the box of
    uniform terms, of the normal distribution integrated as often as there are terms.
    """
    if any(not math.isfinite(term) or term < 0 for term in (*half_widths, normal)):
        raise ValueError(f"terms of an uncertainty are finite and not negative: {[*half_widths, normal]}")
    kept, rest = _kept(half_widths, normal)
    if not kept:
        return two_sided_normal(coverage) * rest
    unit = max(kept)
    shares = tuple(term / unit for term in kept)
    return unit * _solve(shares, rest / unit, coverage)


def _kept(half_widths: Sequence[float], normal: float) -> tuple[list[float], float]:
    """The uniform terms that matter, and everything else as one normal term."""
    whole = math.sqrt(math.fsum([normal**2, *(term**2 / 3 for term in half_widths)]))
    ordered = sorted(half_widths, reverse=True)
    kept = [term for term in ordered[:MOST_TERMS] if term > _SMALL_SHARE * math.sqrt(3) * whole]
    folded = ordered[len(kept) :]
    rest = math.sqrt(math.fsum([normal**2, *(term**2 / 3 for term in folded)]))
    return kept, rest


@lru_cache(maxsize=4096)
def _solve(half_widths: tuple[float, ...], normal: float, coverage: float) -> float:
    """Bisection down to neighbouring numbers; the probability grows with the width."""
    corners = [(math.prod(signs), math.fsum(s * a for s, a in zip(signs, half_widths, strict=True)))
               for signs in product((1, -1), repeat=len(half_widths))]  # fmt: skip
    volume = math.prod(2 * term for term in half_widths)
    wanted = (1 + coverage) / 2
    low, high = 0.0, math.fsum(half_widths) + 8 * normal
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        below = math.fsum(sign * _integrated(middle + offset, normal, len(half_widths)) for sign, offset in corners)
        if below < wanted * volume:
            low = middle
        else:
            high = middle
    return high


def _integrated(x: float, deviation: float, times: int) -> float:
    """The normal distribution function of this standard deviation, integrated so many times from minus infinity."""
    if deviation == 0 or x > 40 * deviation:
        return _integrated_far(x, deviation, times)
    z = x / deviation
    if z < -40:
        return 0.0
    before, now = math.exp(-z * z / 2) / math.sqrt(2 * math.pi), normal_below(z)
    for order in range(1, times + 1):
        before, now = now, (z * now + before) / order
    return now * deviation**times


def _integrated_far(x: float, deviation: float, times: int) -> float:
    """The same far above zero, where it is a polynomial: the mean of (x + normal)^n / n!."""
    if x <= 0:
        return 0.0
    before, now = 0.0, 1.0
    for order in range(1, times + 1):
        before, now = now, (x * now + deviation * deviation * before) / order
    return now

"""
When something happened, how well that is known, and the exact 95 % interval of the difference of two such moments.

An event seen by polling lies between the last reading without it and the first with it. What is known of its moment is
a sum of independent uniform terms: the time between the two readings, the unit's scan (what it shows is up to one scan
old), and the half-widths of the readings themselves. The difference of two moments is again such a sum, and the
distribution of a sum of uniform terms has a closed form. It is evaluated in whole nanoseconds with whole numbers, so
nothing is rounded and every machine gets the same answer.
"""

import math
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache

import msgspec

from commission.sheet.decode import Reading

COVERAGE = Fraction(19, 20)

_NOISE_TERMS = 3
"""Noise enters as three equal uniform terms: 1.94 standard deviations at 95 %, where a normal one has 1.96."""


BETWEEN_READINGS = "time between two readings"
READING = ("the unit's scan", "times of the readings")
"""What the uniform terms of a moment are called in a budget."""


class Instant(msgspec.Struct, frozen=True):
    """
    A moment in unit time: `at_ns` plus independent uniform terms, centred on zero.

    Args:
        at_ns: The best estimate.

        widths_ns: Full width of each uniform term.

        noise_ns: Standard deviation of what noise adds.

        note: What a reader of a figure made with it has to know.

        sources: What each uniform term comes from, in words, for the lines of a budget; may be shorter than the widths.
    """

    at_ns: int
    widths_ns: tuple[int, ...] = ()
    noise_ns: float = 0.0
    note: str = ""
    sources: tuple[str, ...] = ()

    @property
    def earliest_ns(self) -> int:
        """It cannot have been earlier (noise apart)."""
        return self.at_ns - math.ceil(sum(self.widths_ns) / 2)

    @property
    def latest_ns(self) -> int:
        """It cannot have been later (noise apart)."""
        return self.at_ns + math.ceil(sum(self.widths_ns) / 2)


def between(before: Reading, after: Reading, scan_ns: int, note: str = "") -> Instant:
    """
    The moment of an event that `before` does not show yet and `after` does.

    It lies in [before.at − half-width − scan, after.at + half-width]: the unit shows what its last scan saw.
    """
    at_ns = (before.at_ns + after.at_ns - scan_ns) // 2
    widths = (after.at_ns - before.at_ns, scan_ns, before.half_width_ns + after.half_width_ns)
    return Instant(at_ns, widths, note=note, sources=(BETWEEN_READINGS, *READING))


def duration_s(start: Instant, end: Instant) -> tuple[float, float]:
    """From `start` to `end` and the half-width of its 95 % interval, in seconds."""
    noise_ns = math.hypot(start.noise_ns, end.noise_ns)
    half_ns = half_width_ns((*start.widths_ns, *end.widths_ns), noise_ns)
    return (end.at_ns - start.at_ns) / 1e9, half_ns / 1e9


def half_width_ns(widths_ns: Iterable[int], noise_ns: float = 0.0) -> int:
    """
    Half-width of the 95 % interval of a sum of independent uniform terms and noise, rounded up to a nanosecond.

    Args:
        widths_ns: Full width of each term; zero widths add nothing.

        noise_ns: Standard deviation of normal noise.

    Raises:
        ValueError: a width is negative.

    Source: JCGM 101:2008, 6.4.2 (uniform terms) and JCGM 102, clause 7 (propagation); the distribution of the sum is
    the inclusion-exclusion formula of a section of a cube.
    """
    widths = sorted(widths_ns)
    if widths and widths[0] < 0:
        raise ValueError(f"a width is negative: {widths[0]} ns")
    noise_width = round(noise_ns * math.sqrt(12 / _NOISE_TERMS))
    return _half_width_ns(tuple(width for width in [*widths, *[noise_width] * _NOISE_TERMS] if width))


@lru_cache(maxsize=4096)
def _half_width_ns(widths: tuple[int, ...]) -> int:
    if not widths:
        return 0
    whole = sum(widths)
    order = len(widths)
    terms = _alternating_terms(widths)
    volume = math.factorial(order) * math.prod(widths) * 2**order
    # P(|X| ≤ h) = 2·F(h) − 1, so F(h) is wanted at (1 + p)/2.
    wanted = volume * (COVERAGE + 1) / 2
    low, high = 0, (whole + 1) // 2
    while low < high:
        middle = (low + high) // 2
        reach = 2 * middle + whole
        if sum(count * (reach - offset) ** order for offset, count in terms if offset < reach) >= wanted:
            high = middle
        else:
            low = middle + 1
    return low


def _alternating_terms(widths: tuple[int, ...]) -> list[tuple[int, int]]:
    terms = {0: 1}
    for width in widths:
        shifted = dict(terms)
        for offset, count in terms.items():
            shifted[offset + 2 * width] = shifted.get(offset + 2 * width, 0) - count
        terms = shifted
    return sorted(terms.items())


def two_term_half_width(first: float, second: float, coverage: float = 0.95) -> float:
    """
    The same for two uniform terms of half-widths `first` and `second`, in closed form, in their unit.

    With a1 ≥ a2, A = a1 + a2, B = a1 − a2, q = (1 − p)/2: A − √(8·a1·a2·q) where that is at least B, else p·a1.

    Raises:
        ValueError: a half-width is negative.

    Source: JCGM 101:2008, 6.4.2 and JCGM 100:2008, 4.3.9 (the trapezoid and its limit, the triangle).
    """
    if first < 0 or second < 0:
        raise ValueError(f"a half-width is negative: {first}, {second}")
    larger, smaller = max(first, second), min(first, second)
    reached = larger + smaller - math.sqrt(4 * larger * smaller * (1 - coverage))
    return reached if reached >= larger - smaller else coverage * larger


def standard_uncertainty(half_widths: Iterable[float]) -> float:
    """
    Standard uncertainty of a sum of independent uniform terms, in the unit of their half-widths.

    Source: JCGM 100:2008, 4.3.7 (a/√3 for bounds ± a) and 5.1.2 (squares add).
    """
    return math.sqrt(math.fsum(half_width**2 / 3 for half_width in half_widths))

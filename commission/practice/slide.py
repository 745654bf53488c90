"""
Work along a slide: the integrals of a step in which the rod moves from one place to another, to rounding.

Between two kinks of the load everything is smooth, and five points with both ends (Gauss and Lobatto) are exact up to
the seventh power; a step is a few tenths of a millimetre. The same points give the work of the oil that flows in, from
its pressure and how much of it there is at each of them, and the work of friction, from forces: neither knows the
other.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from commission.practice.oil import work_pa

_LONGEST_M = 1e-3
_INNER = math.sqrt(3.0 / 7.0)
_PLACES = (-1.0, -_INNER, 0.0, _INNER, 1.0)
_WEIGHTS = (0.1, 49.0 / 90.0, 32.0 / 45.0, 49.0 / 90.0, 0.1)


def _slopes() -> tuple[tuple[float, ...], ...]:
    """Slope at each place of the polynomial through all of them, a value at each: the barycentric form."""
    count = range(len(_PLACES))
    scale = [math.prod(_PLACES[i] - _PLACES[j] for j in count if j != i) for i in count]
    rows = [[0.0 if i == j else scale[i] / scale[j] / (_PLACES[i] - _PLACES[j]) for j in count] for i in count]
    return tuple(tuple(-math.fsum(row) if i == j else row[j] for j in count) for i, row in enumerate(rows))


_RISES = tuple(tuple(weight * slope for slope in row) for weight, row in zip(_WEIGHTS, _slopes(), strict=True))
"""Weight times slope: the integral of one thing over the change of another."""


def segments(from_m: float, to_m: float, kinks_m: Sequence[float]) -> Iterator[tuple[float, float]]:
    """The way from one place to another, cut at the kinks between them and into pieces of a millimetre at most."""
    between = sorted((kink for kink in kinks_m if min(from_m, to_m) < kink < max(from_m, to_m)), reverse=to_m < from_m)
    places = [from_m, *between, to_m]
    for begin, end in pairwise(places):
        parts = max(1, math.ceil(abs(end - begin) / _LONGEST_M))
        cuts = [begin, *(begin + (end - begin) * part / parts for part in range(1, parts)), end]
        yield from pairwise(cuts)


def integral(force_n: Callable[[float], float], from_m: float, to_m: float, kinks_m: Sequence[float]) -> float:
    """A force along the way, in joule; less than 0 where the way goes back."""
    return math.fsum(
        (end - begin) / 2 * math.fsum(w * force_n(place) for w, place in zip(_WEIGHTS, _along(begin, end), strict=True))
        for begin, end in segments(from_m, to_m, kinks_m)
    )


def flow_work_j(
    pressure_pa: Callable[[float], float],
    stored_m3: Callable[[float, float], float],
    from_m: float,
    to_m: float,
    kinks_m: Sequence[float],
) -> float:
    """
    Work of the oil that flows in while the rod goes its way.

    Args:
        pressure_pa: At each place of the rod.

        stored_m3: Oil held at a pressure and a place.

        from_m: Where the rod begins.

        to_m: Where it ends.

        kinks_m: Where the load has kinks.
    """
    total = []
    for begin, end in segments(from_m, to_m, kinks_m):
        places = _along(begin, end)
        pressures = [pressure_pa(place) for place in places]
        held = [stored_m3(pressure, place) for pressure, place in zip(pressures, places, strict=True)]
        more = [oil - held[0] for oil in held]
        total += [
            work_pa(pressure) * math.fsum(rise * oil for rise, oil in zip(row, more, strict=True))
            for pressure, row in zip(pressures, _RISES, strict=True)
        ]
    return math.fsum(total)


def _along(begin: float, end: float) -> list[float]:
    middle, half = (begin + end) / 2, (end - begin) / 2
    return [begin, *(middle + half * place for place in _PLACES[1:-1]), end]

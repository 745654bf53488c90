"""
Which of several events came first, as far as their times can tell (safety rule R25).

Each event happened somewhere between two moments. Where the spans of two events share a moment either may have been the
first, whatever their best estimates say: their order is not decided. That is the order of intervals, not of numbers: it
is not transitive, so each event says by itself which others it cannot be told from.
"""

from collections.abc import Sequence

import msgspec


class Span(msgspec.Struct, frozen=True, order=True):
    """
    When something happened: not before `after_ns`, not after `by_ns`.

    Args:
        after_ns: The earliest moment, ns of unit time.

        by_ns: The latest moment, ns of unit time.

    Raises:
        ValueError: it ends before it begins.
    """

    after_ns: int
    by_ns: int

    def __post_init__(self) -> None:
        """Refuse a span that ends before it begins."""
        if self.by_ns < self.after_ns:
            raise ValueError(f"a span from {self.after_ns} to {self.by_ns} ns ends before it begins")

    @property
    def middle_ns(self) -> int:
        """The best estimate of its moment."""
        return (self.after_ns + self.by_ns) // 2

    @property
    def half_width_ns(self) -> int:
        """How far the moment may be from the best estimate."""
        return -(-(self.by_ns - self.after_ns) // 2)

    def overlaps(self, other: "Span") -> bool:
        """Whether either may have come first: a shared moment is enough."""
        return self.after_ns <= other.by_ns and other.after_ns <= self.by_ns


class Placed(msgspec.Struct, frozen=True):
    """
    One event in its place.

    Args:
        index: Which of the spans given.

        undecided: The places (from 0) of all events that it cannot be told from.
    """

    index: int
    undecided: tuple[int, ...]


def in_order(spans: Sequence[Span]) -> tuple[Placed, ...]:
    """
    The spans by their best estimates; each with the places of those that may have come before it as well as after it.

    Spans of equal estimate keep the order in which they were given.
    """
    order = sorted(range(len(spans)), key=lambda index: (spans[index].middle_ns, index))
    return tuple(Placed(index, _overlapping(spans, order, place)) for place, index in enumerate(order))


def _overlapping(spans: Sequence[Span], order: Sequence[int], place: int) -> tuple[int, ...]:
    own = spans[order[place]]
    return tuple(other for other, index in enumerate(order) if other != place and own.overlaps(spans[index]))

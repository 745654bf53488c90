"""The order of events that are each known only as a span, held against an independent way to say it."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.sequence import Span, in_order

SPANS = st.lists(
    st.tuples(st.integers(0, 1000), st.integers(0, 60)).map(lambda drawn: Span(drawn[0], drawn[0] + drawn[1])),
    max_size=12,
)


def test_spans_apart_are_in_order_and_certain() -> None:
    """A relay drops at 10 to 12 ms, the valve leaves its limit at 40 to 62 ms, whichever was told first."""
    placed = in_order([Span(40, 62), Span(10, 12)])
    assert [one.index for one in placed] == [1, 0]
    assert all(not one.undecided for one in placed)


def test_spans_that_share_a_moment_are_not_decided() -> None:
    """Even the one moment in which one ends and the other begins is enough."""
    first, second = in_order([Span(0, 20), Span(20, 50)])
    assert (first.undecided, second.undecided) == ((1,), (0,))


def test_order_of_spans_is_not_transitive() -> None:
    """The first and the last of three are apart; the one between them cannot be told from either."""
    placed = in_order([Span(0, 10), Span(8, 22), Span(20, 30)])
    assert [one.undecided for one in placed] == [(1,), (0, 2), (1,)]


def test_span_that_ends_before_it_begins_is_refused() -> None:
    """That is a mistake of whoever made it."""
    with pytest.raises(ValueError, match="ends before it begins"):
        Span(5, 4)


def test_middle_and_half_width_hold_both_ends() -> None:
    """The half width is rounded up: the span is never made narrower than it is."""
    span = Span(1, 4)
    assert span.middle_ns - span.half_width_ns <= 1
    assert span.middle_ns + span.half_width_ns >= 4


@given(SPANS)
def test_certain_order_is_the_order_of_intervals(spans: list[Span]) -> None:
    """
    One event surely comes before another if, and only if, each moment of its span is before each moment of the other's:
    the interval order of measurement theory (common knowledge of order theory; checked by brute force over end points).
    """
    placed = in_order(spans)
    assert sorted(one.index for one in placed) == list(range(len(spans)))
    assert all(spans[before.index].middle_ns <= spans[after.index].middle_ns for before, after in pairwise(placed))
    for place, one in enumerate(placed):
        for other_place, other in enumerate(placed):
            if place == other_place:
                continue
            mine, theirs = spans[one.index], spans[other.index]
            certain = max(mine.after_ns, mine.by_ns) < theirs.after_ns or theirs.by_ns < mine.after_ns
            assert (other_place in one.undecided) is not certain
            if mine.by_ns < theirs.after_ns:
                assert place < other_place


@given(SPANS, st.integers(-(10**9), 10**9))
def test_shift_of_time_changes_nothing(spans: list[Span], shift_ns: int) -> None:
    """The order does not depend on when the clock began."""
    shifted = [Span(span.after_ns + 2 * shift_ns, span.by_ns + 2 * shift_ns) for span in spans]
    assert in_order(shifted) == in_order(spans)

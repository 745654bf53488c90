"""While a motion is open, garbage collection does not look through what was there before."""

import gc
import weakref

import pytest

from commission.supervise.pauses import short_pauses


class Knot:
    """An object that only the collector can free."""

    def __init__(self) -> None:
        self.itself = self


def test_what_was_made_before_is_left_alone_and_collected_afterwards() -> None:
    """Put aside at once, back at the end: nothing leaks, however many motions there are."""
    before = weakref.ref(Knot())
    with short_pauses():
        assert gc.get_freeze_count() > 0
        inside = weakref.ref(Knot())
        gc.collect()
        assert before() is not None
        assert inside() is None
    assert gc.get_freeze_count() == 0
    gc.collect()
    assert before() is None


def test_a_failure_inside_puts_everything_back() -> None:
    """However a motion ends."""
    with pytest.raises(ZeroDivisionError), short_pauses():
        1 / 0  # noqa: B018  # fails
    assert gc.get_freeze_count() == 0

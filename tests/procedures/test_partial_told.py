"""What a partial stroke is told travels as text, and comes back as it was."""

import pytest

from commission.procedures.partial_told import LEAST_GAP_S, Told, as_arguments, from_arguments
from tests.analysis.partials import baseline


def test_arguments_and_back() -> None:
    """Everything, the baseline included."""
    told = Told(
        test="L4 1", cycle_s=0.07, rest_h=4000.5, starts_used=2, baseline=baseline(), apart="serial was 1, is 2"
    )
    arguments = as_arguments(told)
    assert all(isinstance(text, str) for text in arguments.values())
    assert from_arguments(arguments) == told


def test_what_is_at_its_default_is_not_written_down() -> None:
    """And what belongs to the checklist is left alone."""
    assert as_arguments(Told(test="L2 1")) == {"test": "L2 1"}
    assert from_arguments({"test": "L2 1", "compared": "no"}) == Told(test="L2 1")


@pytest.mark.parametrize("wrong", [{"rest_h": "long"}, {"starts_used": '"2"'}, {"turn_at_pct": "[8]"}])
def test_nonsense_is_refused(wrong: dict[str, str]) -> None:
    """An argument of the wrong kind is no procedure."""
    with pytest.raises(ValueError):  # noqa: PT011  # the message is the library's
        from_arguments({"test": "L2 1", **wrong})


def test_r22_a_gap_is_three_polls_or_a_quarter_of_a_second() -> None:
    """Whichever is longer."""
    assert Told(test="x", cycle_s=0.02).gap_s == LEAST_GAP_S
    assert Told(test="x", cycle_s=0.15).gap_s == pytest.approx(0.45)


def test_means_are_of_what_may_be_compared() -> None:
    """Nothing from a baseline of another unit."""
    told = Told(test="x", baseline=baseline())
    assert told.mean("dead_time") == pytest.approx(1.25, abs=0.1)
    assert told.mean("nothing of this name") is None
    assert Told(test="x", baseline=baseline(), apart="oil was A, is B").mean("dead_time") is None

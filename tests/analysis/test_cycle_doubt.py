"""What readings of one cycle share, and how sure the largest of several is."""

import math

import pytest

from commission.analysis.budget import rectangular, resolution
from commission.analysis.cycle_doubt import CycleDoubt, rivals
from commission.analysis.straight_line import terminal_line

DOUBT = CycleDoubt((rectangular("meter", 0.02),), (resolution("last digit", 0.01),))


def test_the_instrument_s_own_error_cancels_at_one_point_only() -> None:
    """Up against down leaves two last digits; two points leave everything twice."""
    assert {line.name for line in DOUBT.same_point().lines} == {"last digit"}
    assert DOUBT.same_point().combined == pytest.approx(math.sqrt(2) * 0.01 / math.sqrt(12))
    assert DOUBT.two_points().combined == pytest.approx(math.sqrt(2) * DOUBT.at_point().combined)


@pytest.mark.parametrize("count", [1, 2, 3, 9])
def test_repeated_readings_average_the_last_digit_and_not_the_instrument(count: int) -> None:
    """Variance of the digit over n, that of the instrument as it is (JCGM 100:2008, 5.1.2)."""
    variance = 0.02**2 / 3 + 0.01**2 / 12 / count
    assert DOUBT.at_point(count).combined == pytest.approx(math.sqrt(variance))


def test_ends_come_into_a_terminal_line_by_their_distance() -> None:
    """In the middle half of each: 1 + 1/4 + 1/4 of one point's variance."""
    curve = ((0.0, 0.0), (50.0, 0.3), (100.0, 0.1))
    found = DOUBT.off_terminal_line(terminal_line(curve), curve)
    assert found.combined == pytest.approx(math.sqrt(1.5) * DOUBT.at_point().combined)


def test_a_clear_bow_is_known_better_than_a_point() -> None:
    """Three points carry it; one that is no larger than a point's doubt may be any point's."""
    assert DOUBT.off_best_line(1.0).expanded() < DOUBT.at_point().expanded()
    assert DOUBT.off_best_line(0.001) == DOUBT.at_point()
    assert DOUBT.off_based_line(0.001).expanded() > DOUBT.off_based_line(1.0).expanded()


def test_rivals_are_those_that_may_be_the_largest() -> None:
    """Within twice what each may be off; nothing read is one."""
    assert rivals([5.0, 4.9, 4.0], 0.1) == 2
    assert rivals([5.0, 4.9, 4.0], 0.01) == 1
    assert rivals([], 0.1) == 1

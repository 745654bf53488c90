"""Tests of repeatability and of opening against closing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.decision import decide
from commission.analysis.repeats import REPEATABILITY_LIMITS, asymmetry, repeatability
from commission.figure import Figure, Verdict, make_figure


def times(*values: float, u: float = 0.03) -> list[Figure]:
    """Response times with their uncertainty."""
    return [make_figure("response_time", value, u, "s", "test/1") for value in values]


def test_three_closing_strokes_of_the_day() -> None:
    """8.05, 7.98 and 8.02 s: the farthest is 7.98 s, 0.46 % from the mean of 8.017 s; passes ± 5 %."""
    figure = repeatability(times(8.05, 7.98, 8.02))
    assert figure.unrounded == pytest.approx((8.016667 - 7.98) / 8.016667, rel=1e-3)
    assert "3 strokes, mean response time 8.017 s" in figure.note
    assert [line.name for line in figure.budget] == [
        "time of stroke 1", "time of stroke 2", "time of stroke 3", "farthest of several",
    ]  # fmt: skip
    assert decide(figure, REPEATABILITY_LIMITS).verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("values", "u", "verdict"),
    [
        ((8.0, 8.0, 9.5), 0.03, Verdict.FAIL),
        ((8.0, 8.0, 8.6), 0.03, Verdict.NOT_DECIDED),
        ((8.0, 8.0, 8.3), 1.0, Verdict.NOT_DECIDED),
    ],
)
def test_strokes_that_do_not_repeat(values: tuple[float, ...], u: float, verdict: Verdict) -> None:
    """One that is 12 % off fails; one at the limit, and times that are not known well enough, decide nothing."""
    assert decide(repeatability(times(*values, u=u)), REPEATABILITY_LIMITS).verdict is verdict


def test_uncertainty_of_the_largest_departure() -> None:
    """Two thirds of its own time and a third of each other, 0.0153·√(4 + 1 + 1)/3 s, and 1.2 times that for chance."""
    figure = repeatability(times(8.0, 8.0, 8.3, u=0.03))
    assert float(figure.expanded_uncertainty) == pytest.approx(1.198 * 0.03 * 6**0.5 / 3 / 8.1, rel=0.05)


@given(st.lists(st.floats(1, 100), min_size=3, max_size=8), st.floats(0.5, 20))
def test_a_slower_unit_repeats_as_well(values: list[float], factor: float) -> None:
    """It is a share: longer strokes of the same kind change nothing; nor does their order."""
    here = repeatability(times(*values))
    there = repeatability(times(*(value * factor for value in reversed(values)), u=0.03 * factor))
    assert there.unrounded == pytest.approx(here.unrounded, abs=2e-3)
    assert here.unrounded >= 0


def test_opening_over_closing() -> None:
    """146.2 s over 8.02 s is 18.2."""
    figure = asymmetry(times(145.9, 146.4, 146.2, u=0.1), times(8.05, 7.98, 8.02))
    assert figure.unrounded == pytest.approx(146.1667 / 8.016667, rel=1e-4)
    assert float(figure.expanded_uncertainty) == pytest.approx(18.23 * 0.03 / 3**0.5 / 8.017, rel=0.05)
    assert len(figure.budget) == 6


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (times(8.0, 8.0), "at least 3 strokes, not 2"),
        ([*times(8.0, 8.0), make_figure("motion_time", 8.0, 0.1, "s", "test/1")], "the same figure"),
        (
            [*times(8.0, 8.0), make_figure("response_time", 8.0, 0.1, "s", "test/1", lower_bound_only=True)],
            "lower bound",
        ),
        (times(0.0, 0.0, 0.0), "mean above zero"),
    ],
)
def test_what_makes_no_series_is_refused(wrong: list[Figure], says: str) -> None:
    """In words."""
    with pytest.raises(ValueError, match=says):
        repeatability(wrong)

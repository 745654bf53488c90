"""Tests of trends over visits: charts, steps, slopes and the visit at which a limit would be met."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.line_fit import fit_line
from commission.analysis.trend import crossing, ewma, individuals, slope_of, step_change

values = st.lists(st.floats(-100, 100), min_size=4, max_size=20)


@given(values, st.floats(-1000, 1000))
def test_an_offset_moves_centre_and_limits_alike(given_values: list[float], offset: float) -> None:
    """Ranges do not change."""
    (here, ranges), (there, moved) = individuals(given_values), individuals([v + offset for v in given_values])
    assert there.centre == pytest.approx(here.centre + offset, abs=1e-6)
    assert there.high - there.low == pytest.approx(here.high - here.low, abs=1e-6)
    assert moved.centre == pytest.approx(ranges.centre, abs=1e-6)


def test_a_visit_out_of_line_is_named() -> None:
    """The sixth; and its two ranges are larger than the rest."""
    chart, ranges = individuals([8.0, 8.02, 7.99, 8.01, 8.0, 8.6, 8.0, 8.01, 7.99, 8.0, 8.02])
    assert chart.outside == (5,)
    assert set(ranges.outside) <= {4, 5}
    assert ranges.low == 0.0


def test_a_small_lasting_shift_is_seen_by_the_weighted_mean_and_not_by_single_values() -> None:
    """One standard deviation up for good."""
    draw = np.random.default_rng(2)
    shifted = [float(v) for v in (*draw.normal(8, 0.04, 10), *draw.normal(8.08, 0.02, 12))]
    single = [value for value in shifted if abs(value - 8) > 0.15]
    assert not single
    assert ewma(shifted, 8.0, 0.05).outside


@given(values, st.floats(0.05, 1.0))
def test_the_weighted_mean_stays_within_what_went_in(given_values: list[float], weight: float) -> None:
    """It is a mean."""
    chart = ewma(given_values, 0.0, 1.0, weight)
    assert min(*given_values, 0.0) - 1e-9 <= min(chart.values)
    assert max(chart.values) <= max(*given_values, 0.0) + 1e-9
    assert len(chart.values) == len(given_values) + 1


def test_a_step_is_found_where_it_is() -> None:
    """Four visits at 8 s, three at 9 s."""
    step = step_change([8.0, 8.02, 7.98, 8.01, 9.0, 9.02, 8.98])
    assert step.last_before == 3
    assert [step.mean_before, step.mean_after] == pytest.approx([8.0025, 9.0])
    assert step.squares < 0.01 < step.squares_without


def test_slope_with_confidence() -> None:
    """0.1 s a year through five visits, uncertain by its scatter with three degrees of freedom."""
    figure = slope_of("closing_time_drift", [0, 1, 2, 3, 4], [8.0, 8.11, 8.19, 8.31, 8.4], "s/a")
    assert figure.unrounded == pytest.approx(0.1, abs=0.005)
    assert figure.budget[0].degrees_of_freedom == "3"
    assert (figure.unit, figure.note) == ("s/a", "5 visits")


def test_the_visit_at_which_a_limit_would_be_met() -> None:
    """0.2 s a year, 8.8 s at the latest visit, limit 10 s: about six years on; visits are yearly."""
    line = fit_line([0, 1, 2, 3, 4], [8.0, 8.21, 8.39, 8.61, 8.8])
    found = crossing(line, 10.0, last=4.0, between=1.0)
    assert found.estimate == pytest.approx(10.0, abs=0.3)
    assert found.next_visit == 6
    assert found.words.startswith("at the limit in 5.99 (5.61 to 6.4) from the latest visit")
    assert f"visit {found.next_visit} from now" in found.words
    assert crossing(line, 10.0, last=4.0).next_visit is None


@pytest.mark.parametrize(
    ("series", "limit", "words"),
    [
        ([8.0, 8.1, 7.9, 8.1, 8.0], 10.0, "may as well be zero"),
        ([8.8, 8.6, 8.4, 8.21, 8.0], 10.0, "limit before|moves away"),
        ([9.8, 10.0, 10.21, 10.39, 10.6], 10.0, "before the latest visit"),
    ],
)
def test_what_has_no_visit_says_why(series: list[float], limit: float, words: str) -> None:
    """No trend, the other way, or over already."""
    found = crossing(fit_line([0, 1, 2, 3, 4], series), limit, last=4.0, between=1.0)
    assert found.next_visit is None
    assert any(part in found.words for part in words.split("|"))


def test_too_little_is_refused() -> None:
    """In words."""
    with pytest.raises(ValueError, match="two visits"):
        individuals([8.0])
    with pytest.raises(ValueError, match="four values"):
        step_change([8.0, 8.0, 8.1])
    with pytest.raises(ValueError, match="a weight above 0"):
        ewma([8.0], 8.0, 0.1, 0.0)

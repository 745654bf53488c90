"""The first low trip as found, from the first vent."""

import pytest

from commission.analysis.decision import decide
from commission.analysis.trip import NoTrip, Side, trip_set
from commission.analysis.trip_found import FOUND, FoundSeen, found_figures, found_limits
from tests.analysis.monitors import stretch
from tests.sheet.xv import xv_1101

SHEET = xv_1101()
LOW = trip_set(SHEET, Side.LOW)


def vented(delay_s: float, *, point_bar: float = 50.0, bar_s: float = 2.0, last_s: float = 30.0) -> FoundSeen:
    """A vent from 61.8 bar with so many bar a second."""
    trip_s = (61.8 - point_bar) / bar_s + delay_s
    seen = stretch(
        lambda t: max(0.0, 61.8 - bar_s * t), min(last_s, trip_s + 0.3), trip_s=trip_s, side=Side.LOW, noise_bar=0.02
    )
    return FoundSeen(test="O1 1", side=Side.LOW, ready="closed", seen=seen)


@pytest.mark.parametrize(("delay_s", "verdict"), [(5.0, "pass"), (0.5, "fail")])
def test_a_delay_of_half_a_second_shows_in_the_first_vent(delay_s: float, verdict: str) -> None:
    """The planted finding: 9 bar early, where a vent of 2 bar/s decides to 2 bar."""
    figures = found_figures(vented(delay_s), SHEET)
    assert figures[0].name == FOUND
    assert figures[0].unrounded == pytest.approx(50e5 + 2e5 * (5.0 - delay_s), abs=0.3e5)
    limits = found_limits(figures, LOW)
    assert float(limits.low or 0) == pytest.approx(48e5, abs=0.02e5)
    assert decide(figures[0], limits).verdict == verdict


def test_the_rate_and_the_reading_at_the_trip_are_told() -> None:
    """2 bar/s; ten bar past the trip point."""
    _, at_trip, rate = found_figures(vented(5.0), SHEET)
    assert at_trip.unrounded == pytest.approx(40e5, abs=0.3e5)
    assert rate.unrounded == pytest.approx(-2e5, abs=0.02e5)


def test_a_vent_to_nothing_without_a_trip_fails() -> None:
    """It is the protection that does not act; as far as the pressure went."""
    figures = found_figures(vented(1000.0), SHEET)
    assert "nothing tripped" in figures[0].note
    assert decide(figures[0], found_limits(figures, LOW)).verdict == "fail"


def test_a_vent_given_up_early_is_no_test() -> None:
    """Nothing went past."""
    with pytest.raises(NoTrip):
        found_figures(vented(1000.0, last_s=3.0), SHEET)
    with pytest.raises(NoTrip, match="frozen"):
        found_figures(FoundSeen(test="", side=Side.LOW, ready="", why="vent frozen"), SHEET)


def test_hardly_a_sample_before_the_trip_is_no_test() -> None:
    """A line through nothing says nothing."""
    seen = vented(5.0).seen
    with pytest.raises(NoTrip, match="too few"):
        found_figures(FoundSeen(test="", side=Side.LOW, ready="", seen=seen[-5:]), SHEET)

"""The delay of a trip and the pulse shorter than it."""

import pytest

from commission.analysis.decision import decide
from commission.analysis.trip import NoTrip, Side, delay_limits, trip_set
from commission.analysis.trip_delay import DELAY, TRIPPING, DelaySeen, delay_figures, pulse_limits, pulse_seen
from tests.analysis.monitors import stretch
from tests.sheet.xv import xv_1101

SHEET = xv_1101()
HIGH, LOW = (trip_set(SHEET, side) for side in (Side.HIGH, Side.LOW))


def step(delay_s: float, side: Side = Side.LOW, last_s: float = 20.0) -> DelaySeen:
    """A step at two seconds, tripped after so long."""
    past = 47.0 if side is Side.LOW else 73.0
    seen = stretch(lambda t: 60.0 if t < 2.0 else past, last_s, trip_s=2.0 + delay_s, side=side)
    return DelaySeen(test="O4 1", side=side, step=seen)


@pytest.mark.parametrize(("delay_s", "verdict"), [(5.0, "pass"), (4.2, "fail"), (0.5, "fail"), (5.9, "fail")])
def test_the_delay_is_judged_against_the_sheet(delay_s: float, verdict: str) -> None:
    """5.0 ± 0.5 s, with the samples' uncertainty."""
    (figure,) = delay_figures(step(delay_s), SHEET)
    assert figure.name == DELAY
    assert figure.unrounded == pytest.approx(delay_s, abs=0.12)
    assert 0.07 < float(figure.expanded_uncertainty) < 0.10
    assert decide(figure, delay_limits(LOW)).verdict == verdict


def test_the_uncertainty_is_that_of_two_events_between_polls() -> None:
    """Trade guide 4.23: T 0.1 s and a scan of 0.02 s; ±0.776 T alone is 0.078 s (JCGM 101, the triangle)."""
    (figure,) = delay_figures(step(5.0), SHEET)
    assert 0.0776 <= float(figure.expanded_uncertainty) <= 0.086
    assert {line.name for line in figure.budget} >= {"crossing: time between two readings", "trip: the unit's scan"}


def test_near_the_limit_nothing_is_decided() -> None:
    """Within the guard band."""
    (figure,) = delay_figures(step(5.5), SHEET)
    assert decide(figure, delay_limits(LOW)).verdict == "not decided"


def test_a_trip_that_does_not_come_is_at_least_what_was_waited() -> None:
    """It can fail the upper limit and never pass one."""
    (figure,) = delay_figures(step(100.0), SHEET)
    assert figure.lower_bound_only
    assert decide(figure, delay_limits(LOW)).verdict == "fail"
    (short,) = delay_figures(step(100.0, last_s=5.0), SHEET)
    assert decide(short, delay_limits(LOW)).verdict == "not decided"


def test_a_step_that_was_none_is_no_test() -> None:
    """With the words of the procedure, where it has any."""
    with pytest.raises(NoTrip, match="well past"):
        delay_figures(DelaySeen(test="O3 1", side=Side.HIGH, step=stretch(lambda _t: 60.0, 3.0)), SHEET)
    with pytest.raises(NoTrip, match="pump leaks"):
        delay_figures(DelaySeen(test="O3 1", side=Side.HIGH, why="pump leaks"), SHEET)


def pulse(length_s: float, trip_s: float | None = None) -> DelaySeen:
    """A step with the right delay, and a pulse at one second."""
    seen = stretch(lambda t: 47.0 if 1.0 <= t < 1.0 + length_s else 60.0, 9.0, trip_s=trip_s, side=Side.LOW)
    return DelaySeen(test="O4 1", side=Side.LOW, step=step(5.0).step, pulse=seen)


def test_a_pulse_that_does_not_trip_is_told_with_its_length() -> None:
    """One second."""
    _, told = delay_figures(pulse(1.0), SHEET)
    assert told.name == "pulse_time"
    assert told.unrounded == pytest.approx(1.0, abs=0.12)


def test_a_pulse_that_trips_fails_by_its_own_length() -> None:
    """The planted finding: a second of it shuts the line in."""
    _, told = delay_figures(pulse(1.0, trip_s=1.5), SHEET)
    assert told.name == TRIPPING
    decision = decide(told, pulse_limits(LOW))
    assert (decision.verdict, decision.limit_low) == ("fail", "4.5")


def test_half_a_pulse_says_nothing() -> None:
    """It must be seen to come and to go."""
    assert pulse_seen(stretch(lambda t: 47.0 if t > 1.0 else 60.0, 5.0, side=Side.LOW), LOW) is None
    assert delay_figures(DelaySeen(test="", side=Side.LOW, step=step(5.0).step, pulse=()), SHEET)[1:] == ()
    assert HIGH.delay_s == 3.0

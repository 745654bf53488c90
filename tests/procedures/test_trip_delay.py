"""O3 and O4 played, first part: the step, and the pulse."""

import pytest

from commission.analysis.trip import Side, trip_set
from commission.analysis.trip_delay import DelaySeen, delay_figures, pulse_seen
from commission.procedures.trip_delay import past_bar, pulse_s, side_of, trip_delay, why_no_pulse
from tests.analysis.monitors import stretch
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

HIGH, LOW = (trip_set(xv_1101(), side) for side in Side)


def delayed(unit: Monitored, side: str) -> DelaySeen:
    """Play it."""
    seen, begun = play(trip_delay(xv_1101(), {"trip": side, "test": f"{side} 1"}), unit)
    assert isinstance(seen, DelaySeen)
    assert begun.commands == ()
    return seen


@pytest.mark.parametrize(("side", "delay_s"), [("high", 3.0), ("low", 5.0)])
def test_step_and_pulse_on_both_sides(side: str, delay_s: float) -> None:
    """The delay comes out, the pulse did not trip, and everything is normal again."""
    unit = Monitored()
    seen = delayed(unit, side)
    assert seen.why == ""
    delay, pulse = delay_figures(seen, xv_1101())
    assert delay.unrounded == pytest.approx(delay_s, abs=0.12)
    assert pulse.name == "pulse_time"
    assert not any(unit.latched.values())
    assert unit.bar == 60.0


def test_the_delay_comes_before_the_pulse_and_the_step_is_well_past() -> None:
    """Three tolerances."""
    unit = Monitored()
    delayed(unit, "high")
    texts = [text for text in unit.asked if "move" in text or "pulse" in text]
    assert "73 bar" in texts[0]
    assert "pulse" in texts[1]
    assert past_bar(LOW) == 47.0
    assert pulse_s(LOW) == 1.5


def test_a_pulse_that_trips_is_kept() -> None:
    """0.5 s where 5.0 s was meant."""
    unit = Monitored(low_s=0.5)
    seen = delayed(unit, "low")
    assert [figure.name for figure in delay_figures(seen, xv_1101())] == ["trip_delay", "tripping_pulse_time"]
    assert any("the pulse tripped it" in note for note in unit.notes)


def test_no_trip_at_all_is_kept_as_seen_and_no_pulse_is_tried() -> None:
    """Eight seconds past a delay of three."""
    unit = Monitored(high_bar=99.0)
    seen = delayed(unit, "high")
    assert delay_figures(seen, xv_1101())[0].lower_bound_only
    assert seen.pulse == ()
    assert not any("pulse" in text for text in unit.asked)


def test_a_pulse_that_was_too_long_is_made_again() -> None:
    """It may rightly trip: no test, said aloud."""
    unit = Monitored()
    lengths = iter((2.8, 1.0))
    unit.hands["pulse"] = lambda ask: unit.pulse(ask.target or 0.0, next(lengths))
    seen = delayed(unit, "high")
    assert any(note.startswith("NO TEST  the pulse took") for note in unit.notes)
    known = pulse_seen(seen.pulse, HIGH)
    assert known is not None
    assert known[0] == pytest.approx(1.0, abs=0.15)


def test_three_bad_pulses_end_it_with_the_delay_kept() -> None:
    """What was measured stays."""
    unit = Monitored()
    unit.hands["pulse"] = lambda ask: unit.pulse(ask.target or 0.0, 2.8)
    seen = delayed(unit, "high")
    assert "no pulse was short enough" in seen.why
    assert seen.step


def test_a_pulse_not_seen_whole_says_nothing() -> None:
    """There and never back."""
    assert "and back" in why_no_pulse(stretch(lambda t: 73.0 if t > 1 else 60.0, 4.0), HIGH)
    assert why_no_pulse(stretch(lambda t: 73.0 if 1 < t < 2 else 60.0, 4.0), HIGH) == ""


def test_which_trip_is_asked_for_by_name() -> None:
    """High or low."""
    assert side_of({"trip": "low"}) is Side.LOW
    with pytest.raises(ValueError, match="high or low"):
        side_of({"trip": "middle"})

"""What is said of a loop: each planted fault named, a sound loop left alone, nothing said below what the meter sees."""

from collections.abc import Callable

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.calibration import characteristics
from commission.analysis.span import Signal, point_errors, span_figures
from commission.analysis.span_words import trimmed
from commission.sheet.model import Loop
from tests.analysis.spans import clamp, fcv_2204, modulating, observed

Rule = Callable[[float], float]


def _said(rule: Rule, **more: float) -> str:
    """The note of the largest error."""
    return span_figures(observed(lambda point, _up, _cycle: rule(point), **more), modulating())[0].note  # type: ignore[arg-type]  # one float


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        pytest.param(lambda point: 20 - 0.16 * point, "reversed", id="reversed"),
        pytest.param(lambda point: 0.2 * point, "wrong range: it works as 0 to 20 mA", id="0 to 20 mA"),
        pytest.param(
            lambda point: min(19.2, 4 + 0.16 * point),
            "clipped: it stays at 19.20 mA towards 100 %",
            id="short at one end",
        ),
        pytest.param(lambda point: 4.12 + 0.16 * point, "offset: +0.75 % everywhere", id="offset"),
        pytest.param(lambda point: 4 + 0.1568 * point, "gain: the span is 2.00 % too narrow", id="gain"),
        pytest.param(lambda point: 4.08 + 0.1632 * point, "zero +0.50 % and span +2.00 % are both off", id="both"),
        pytest.param(lambda point: 4 + 0.16 * point + 0.3 * (point == 50), "bowed", id="bow"),
        pytest.param(lambda point: 3.5 + 0.165 * point, "3.50 mA at 0 % up is a failure signal", id="NE 43"),
        pytest.param(lambda point: 3.7 + 0.163 * point, "outside 3.8 to 20.5 mA", id="between the bands"),
    ],
)
def test_a_planted_fault_is_named(rule: Rule, words: str) -> None:
    """Each in its own words."""
    assert words in _said(rule)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(4.8, 30.0, "stays at 4.80 mA towards 0 %"), (0.0, 17.8, "stays at 17.80 mA towards 100 %")],
)
def test_a_clipped_end_is_named_with_its_level(low: float, high: float, words: str) -> None:
    """Eleven points: the last two at the same current."""
    points = tuple(float(point) for point in range(0, 101, 10))
    seen = observed(lambda point, _up, _cycle: min(high, max(low, 4 + 0.16 * point)), points=points)
    note = span_figures(seen, modulating())[0].note
    assert "clipped" in note
    assert words in note


def test_hysteresis_is_named() -> None:
    """Lost motion: down reads 0.096 mA more."""
    seen = observed(lambda point, up, _cycle: 4 + 0.16 * point + (0.0 if up else 0.096), up_down=(True, False))
    assert "up and down differ by 0.60 %" in span_figures(seen, modulating())[0].note


def test_the_feedback_of_fcv_2204_in_words() -> None:
    """Zero and span are both off, and a trim leaves 0.13 %."""
    note = span_figures(fcv_2204(), modulating())[0].note
    assert "zero +0.37 % and span -1.87 % are both off" in note
    assert "trim by -0.08 mA at closed, +0.22 mA at open: leaves 0.12 %" in note


def test_a_sound_loop_is_left_alone() -> None:
    """Nothing is said but where the largest error is."""
    assert _said(lambda point: 4 + 0.16 * point) == "at 0 % up; largest of 5 alike: U holds for all of them"


def test_nothing_is_said_that_the_meter_cannot_see() -> None:
    """An offset of 0.2 % is none to a meter of 0.1 mA."""
    seen = observed(lambda point, _up, _cycle: 4.03 + 0.16 * point, meter=clamp("0.1 mA"))
    assert "offset" not in span_figures(seen, modulating())[0].note


def test_a_command_loop_set_to_0_to_20() -> None:
    """12 mA that bring the valve to 60 %."""
    seen = observed(lambda point, _up, _cycle: 4 + 0.16 * point)
    readings = tuple(msgspec.structs.replace(known, stem=known.current_a / 0.020) for known in seen.readings)
    seen = msgspec.structs.replace(seen, signal=Signal.COMMAND, readings=readings)
    assert "wrong range" in span_figures(seen, modulating())[0].note


@given(st.floats(-0.3, 0.3), st.floats(-0.003, 0.003))
def test_the_trim_takes_zero_and_gain_away(shift: float, gain: float) -> None:
    """Whatever the offset and gain, nothing of them is left."""
    seen = observed(lambda point, _up, _cycle: 4 + shift + (0.16 + gain) * point)
    errors = point_errors(seen, Loop())
    line = characteristics(errors).independent
    assert line is not None
    assert max(abs(known.error) for known in trimmed(errors, line)) < 1e-9


def test_words_are_of_whole_readings_only() -> None:
    """A loop whose stem never moved cannot be told to be reversed."""
    seen = observed(lambda _point, _up, _cycle: 12.0, points=(50.0,))
    assert "reversed" not in span_figures(seen, modulating())[0].note

"""What the running test says: R12's words, how near each guard is, what became of the stop."""

import msgspec
import pytest

from commission.job.bodies import CommandSent, GuardTripped, MotionBegun, MotionEnded
from commission.job.motions import Run
from commission.procedures.full_stroke import full_stroke
from commission.procedures.partial_stroke import partial_stroke
from commission.procedures.partial_told import Told
from commission.procedures.requests import Begin
from commission.sample import Outcome, ReadPlan, Silence
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.supervise.order import MotionView
from commission.terminal import moving
from tests.supervise.rig import demo_sheet

SHEET = demo_sheet()


def begun() -> Begin:
    """What a closing stroke begins with."""
    procedure = full_stroke(SHEET, End.CLOSED, "K1 closed 2")
    begin = next(procedure)
    procedure.close()
    assert isinstance(begin, Begin)
    return begin


def seen(**values: float) -> Readings:
    """One sample."""
    return Readings(1, 0, {role: Reading(value, 0, 0) for role, value in values.items()})


@pytest.mark.parametrize(
    ("command", "words"),
    [("sent", "proves nothing yet"), ("answered", "proves little"), ("received", "RECEIVED"), ("moving", "MOVING")],
)
def test_r12_only_received_and_moving_are_shown_as_done(command: str, words: str) -> None:
    """In capitals what counts, with what it proves where it proves little."""
    line = moving.heading(MotionView("K1 closed 2", "K1", 0, command=command), begun(), 12_300_000_000)
    assert line.startswith("K1 closed 2   12.3 s of at most ")
    assert words in line
    assert len(line) <= 80


def test_a_test_that_only_looks_says_so() -> None:
    """No command is waited for where none will be given."""
    looks = msgspec.structs.replace(begun(), commands=(), safe_command=None)
    assert "commands nothing" in moving.heading(MotionView("I2", "I2", 0), looks, 0)


def test_how_near_each_guard_is() -> None:
    """Silence, pressure and the rest beside their limits, in 80 columns; the bits by name."""
    begin, latest = begun(), seen(cylinder_pressure=53e5, motor_running=0.0, travel=0.5)
    for guard in begin.guards.values():
        guard(latest)
    lines = moving.guard_lines(begin, latest, 0.1, 80)
    assert all(len(line) <= 80 for line in lines)
    text = " ".join(line.strip() for line in lines)
    assert "silence 0.1 of 2 s" in text
    assert "pressure 53 of 154 bar" in text
    assert "motor run 0 of 300 s" in text
    assert "ESD, selector, automatic" in text


def test_r18_a_silent_unit_shows_no_value() -> None:
    """No reading is left standing as if it were now."""
    view = MotionView("K1", "K1", 0, latest=seen(travel=0.5), silence=Silence(2, 0, 0, "no answer"))
    assert moving.readings(view) == "NO ANSWER: no answer. Stay clear; look at the stem."
    assert "travel 50.0 %" in moving.readings(MotionView("K1", "K1", 0, latest=seen(travel=0.5)))
    assert moving.readings(MotionView("K1", "K1", 0)) == "waiting for the first reading"


def run(safe_end: str, reason: str, tripped: GuardTripped | None = None) -> Run:
    """A run that ended so."""
    begin = MotionBegun(
        run="r", step="K1", procedure="full_stroke", arguments={}, test="K1", commands={}, safe_end="stop", guards=(),
        plan=ReadPlan(1, ()),
    )  # fmt: skip
    ended = MotionEnded(run="r", how="stopped", reason=reason, safe_end=safe_end)
    return Run(begun=begin, by="T", at_utc="", n=1, tripped=tripped, ended=ended)


def test_r10_what_became_of_the_safe_end() -> None:
    """Seen at rest, not confirmed, or withheld with who has it; the last two say: stay clear, and the local stop."""
    assert "seen at rest" in moving.outcome(run("confirmed", "stop key, by T"), SHEET)
    for safe_end, reason, words in (
        ("unconfirmed", "stop key, by T", "NOT CONFIRMED"),
        ("withheld", "ESD loop: tripped", "ESD loop: tripped"),
    ):
        said = moving.outcome(run(safe_end, reason), SHEET)
        assert words in said
        assert "Stay clear" in said
        assert SHEET.behaviour.local_stop in said
    assert moving.outcome(run("not needed", "the valve is seen at rest"), SHEET) == ""


def test_r10_while_it_ends_it_says_what_was_sent_and_how_long_it_is_tried() -> None:
    """Seconds left of the safe end's life, never below zero."""
    sent = CommandSent(
        run="r", role="command_stop", value=1, at_ns=0, half_width_ns=0, outcome=Outcome.ANSWERED, purpose="safe end"
    )  # fmt: skip
    open_run = Run(begun=run("confirmed", "").begun, by="T", at_utc="", n=1, sent=(sent, sent))
    said = moving.stopping(open_run, SHEET, 1.0)
    assert said.startswith("STOP sent 2 x, answered; not seen at rest yet, tried for ")
    assert "tried for 0.0 s more" in moving.stopping(open_run, SHEET, 60.0)
    assert "only when the valve is seen at rest" in moving.stopping(None, SHEET, 0.0)


def test_r11_until_when_the_units_own_guard_acts_is_counted_down() -> None:
    """From its command on; where it has none, or nothing was sent, nothing is said."""
    begun = next(partial_stroke(SHEET, Told(test="L2 1")))
    assert isinstance(begun, Begin)
    start = CommandSent(
        run="r", role="command_partial_stroke", value=1, at_ns=0, half_width_ns=0, outcome=Outcome.ANSWERED,
        purpose="procedure",
    )  # fmt: skip
    started = Run(begun=run("confirmed", "").begun, by="T", at_utc="", n=1, sent=(start,))
    assert moving.own_guard(started, begun, 8_000_000_000) == "The unit's own guard acts in 12 s at the latest. "
    assert moving.own_guard(started, begun, 21_000_000_000) == ""
    assert moving.own_guard(None, begun, 0) == ""
    assert moving.own_guard(started, msgspec.structs.replace(begun, own_guard_s=None), 0) == ""


def test_r10_a_stop_in_a_partial_stroke_is_no_return() -> None:
    """What was sent last is what is said."""
    stopped = run("confirmed", "stop key, by T")
    begun = msgspec.structs.replace(stopped.begun, safe_end="return")
    for role, words in (("command_stop", "The next step brings it back"), ("command_open", "RETURN seen")):
        sent = CommandSent(
            run="r", role=role, value=1, at_ns=0, half_width_ns=0, outcome=Outcome.ANSWERED, purpose="safe end"
        )  # fmt: skip
        assert words in moving.outcome(msgspec.structs.replace(stopped, begun=begun, sent=(sent,)), SHEET)

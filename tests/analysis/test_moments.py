"""The ten times of a stroke."""

import msgspec
import pytest

from commission.analysis.moments import moments
from commission.sample import Outcome
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET, observe
from tests.procedures.strokes import Line, Stroke


@pytest.mark.parametrize("opening", [True, False])
def test_each_time_is_found_within_what_is_known_of_it(opening: bool) -> None:  # noqa: FBT001  # a direction
    """t0, t3, t4, t6 and t7 hold the truth between their bounds."""
    stroke = Stroke(opening=opening)
    found = moments(observe(stroke, Line(), 7), SHEET)
    truth = {"t0": stroke.command_s, "t4": stroke.left_s, "t6": stroke.home_s}
    for name, true_s in truth.items():
        moment = getattr(found, name)
        assert moment.earliest_ns <= true_s * 1e9 <= moment.latest_ns, name
    for name, true_s in {"t3": stroke.start_s, "t7": stroke.end_s}.items():
        assert abs(getattr(found, name).at_ns / 1e9 - true_s) < 0.03, name


def test_pressure_and_motor_times_follow_their_points() -> None:
    """On an opening stroke the motor starts, pressure rises, and the motor stops last."""
    found = moments(observe(Stroke(), Line(), 7), SHEET)
    assert found.motor_on is not None
    assert found.t2 is not None
    assert found.t3 is not None
    assert found.t8 is not None
    assert found.motor_on.at_ns < found.t3.at_ns < found.t8.at_ns
    assert found.t2.at_ns < found.t3.at_ns


def test_tenths_lie_where_the_curve_has_them() -> None:
    """t5 at 10, 50 and 90 % of travel."""
    stroke = Stroke(bend=0.2)
    found = moments(observe(stroke, Line(noise=0.0), 7), SHEET)
    for share, crossing in zip((0.1, 0.5, 0.9), found.t5, strict=True):
        assert crossing is not None
        assert crossing.at_ns / 1e9 == pytest.approx(stroke.when(share), abs=0.02)


def test_what_was_not_read_is_not_there() -> None:
    """A unit with limits alone has t0, t4 and t6 and nothing else."""
    observed = observe(Stroke(), Line(), 7)
    bare = tuple(
        Readings(item.number, item.at_ns, {role: item[role] for role in ("open_limit", "closed_limit")})
        for item in observed.seen
        if isinstance(item, Readings)
    )
    found = moments(msgspec.structs.replace(observed, seen=bare), SHEET)
    assert None not in (found.t0, found.t4, found.t6)
    assert (found.t2, found.t3, found.t7, found.t8, found.t9) == (None,) * 5
    assert found.t5 == (None, None, None)


def test_a_refused_command_has_no_t0() -> None:
    """A command that the unit refused starts nothing; one without an answer may have."""
    observed = observe(Stroke(), Line(), 7)
    assert observed.command is not None
    for outcome, there in ((Outcome.REFUSED, False), (Outcome.UNANSWERED, True)):
        command = msgspec.structs.replace(observed.command, outcome=outcome)
        found = moments(msgspec.structs.replace(observed, command=command), SHEET)
        assert (found.t0 is not None) is there


def test_a_chattering_limit_is_counted_and_its_first_making_timed() -> None:
    """A loose limit makes more than once; t6 is the first."""
    observed = observe(Stroke(), Line(), 7)
    first = moments(observed, SHEET).t6
    items = [item for item in observed.seen if isinstance(item, Readings)]
    late = items[-5]
    dropped = Reading(0.0, late.at_ns, late["open_limit"].half_width_ns)
    items[-5] = Readings(late.number, late.at_ns, {**late.by_role, "open_limit": dropped})
    found = moments(msgspec.structs.replace(observed, seen=tuple(items)), SHEET)
    assert found.end_limit_makings == 2
    assert found.t6 == first


def test_a_command_early_in_the_readings_does_not_hide_the_change_of_pressure() -> None:
    """The level before is that before the command: readings of the fall itself, among the first ten, are no noise."""
    stroke = Stroke(command_s=0.4, dead_s=0.2)
    found = moments(observe(stroke, Line(period_s=0.1), 7), SHEET)
    assert found.t2 is not None
    assert abs(found.t2.at_ns / 1e9 - (stroke.start_s - 0.6 * stroke.dead_s)) < 0.1


def test_without_a_command_the_first_readings_are_the_level() -> None:
    """A stroke that somebody else gave still has its change of pressure."""
    observed = msgspec.structs.replace(observe(Stroke(), Line(), 7), command=None)
    assert moments(observed, SHEET).t2 == moments(observe(Stroke(), Line(), 7), SHEET).t2

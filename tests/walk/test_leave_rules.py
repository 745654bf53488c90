"""Leave to write, or why not."""

from collections.abc import Mapping

import msgspec
import pytest

from commission.clock import Clock
from commission.job.bodies import ContactLost, EnergyBegun, LeaveGiven
from commission.procedures.requests import Begin, CommandValue, SafeEnd
from commission.walk.leave_rules import LeaveRefused, leave_for, refusal
from commission.walk.prompts import RunProcedure, pending
from tests.walk.visits import TESS, Visit, good_person


class _Order(msgspec.Struct, frozen=True):
    step: str = "K1"
    procedure: str = "full_stroke"
    arguments: Mapping[str, str] = msgspec.field(default_factory=lambda: {"direction": "open", "test": "K1 open 1"})
    by: str = TESS


OPEN = Begin(
    test="K1 open 1",
    commands=(CommandValue("command_open"),),
    safe_end=SafeEnd.STOP,
    safe_command=CommandValue("command_stop"),
    guards={},
    roles=("travel",),
    longest_s=275.0,
)


@pytest.fixture
def visit() -> Visit:
    """Live, confirmed, about to run K1 open 1."""
    person = good_person()
    step = person.walk_to("K1")
    while not isinstance(pending(person.visit.job, step, person.visit.now), RunProcedure):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    return person.visit


def _why(visit: Visit, begin: Begin = OPEN, order: _Order = _Order()) -> str:  # noqa: B008  # frozen
    return str(refusal(visit.job, begin, order, visit.now) or "")


def test_leave_names_points_and_values_and_outlives_the_longest_run(visit: Visit) -> None:
    """Generation, name and who said go with it."""
    clock = Clock(wire_ns=lambda: 5_000_000_000, utc=lambda: visit.now, spin_s=0.0)
    leave = leave_for(visit.job, OPEN, _Order(), clock)
    assert leave.values == {"command_open": (1,), "command_stop": (1,)}
    assert leave.until_ns >= 5_000_000_000 + 275 * 10**9
    assert leave.generation == visit.job.energy_log.now.generation
    assert (leave.test, leave.by, leave.returns) == ("K1 open 1", TESS, ())


def test_a_return_stays_allowed(visit: Visit) -> None:
    """Where the safe end is to return, that command outlives leave itself."""
    clock = Clock(wire_ns=lambda: 0, utc=lambda: visit.now, spin_s=0.0)
    back = msgspec.structs.replace(OPEN, safe_end=SafeEnd.RETURN, safe_command=CommandValue("command_close"))
    leave = leave_for(visit.job, back, _Order(), clock)
    assert leave.returns == ("command_close",)


def test_an_unconfirmed_movement_gets_none(visit: Visit) -> None:
    """Another run than the one that was confirmed."""
    order = _Order(arguments={"direction": "open", "test": "K1 open 2"})
    assert "K1 open 2 was not confirmed" in _why(visit, order=order)
    with pytest.raises(LeaveRefused, match="not confirmed"):
        leave_for(visit.job, OPEN, order, Clock(utc=lambda: visit.now))


def test_a_confirmation_lapses(visit: Visit) -> None:
    """After ten minutes."""
    visit.wait(10)
    assert "was not confirmed" in _why(visit)


def test_a_command_that_was_not_proved_gets_none(visit: Visit) -> None:
    """The partial stroke's point was not pulsed."""
    other = msgspec.structs.replace(OPEN, commands=(CommandValue("command_partial_stroke"),))
    runs = {name: run for name, run in visit.job.runs.items() if not name.startswith("I3")}
    visit.job = msgspec.structs.replace(visit.job, runs=runs)
    assert "command_partial_stroke was not pulsed" in _why(visit, other)
    assert "command_open was not pulsed" in _why(visit)


def test_no_state_but_live(visit: Visit) -> None:
    """Nor on the way out of it, nor unknown."""
    visit.record(EnergyBegun(target="locked"))
    assert "on the way to locked" in _why(visit)
    visit.lose_state()
    assert "the unit is unknown" in _why(visit)


def test_the_permit_outlasts_what_the_procedure_itself_says(visit: Visit) -> None:
    """The sheet's estimate is not the last word."""
    long = msgspec.structs.replace(OPEN, longest_s=24 * 3600.0)
    assert "The permit ends in" in _why(visit, long)


def test_one_leave_at_a_time_and_only_with_contact(visit: Visit) -> None:
    """Each refusal says what it waits for."""
    with_leave = visit.job
    visit.record(LeaveGiven(test="K1 open 1", values={"command_open": (1,)}, until_ns=1))
    assert "still holds leave" in _why(visit)
    visit.job = with_leave
    visit.record(ContactLost(reason="lead torn off"))
    assert "does not answer" in _why(visit)


def test_a_partial_stroke_of_a_normally_closed_vent_is_refused(visit: Visit) -> None:
    """Always."""
    valve = msgspec.structs.replace(visit.job.sheet.valve, normally_closed_vent=True)
    visit.job = msgspec.structs.replace(visit.job, sheet=msgspec.structs.replace(visit.job.sheet, valve=valve))
    assert "normally closed vent" in _why(visit, order=_Order(procedure="partial_stroke"))


def test_what_only_looks_names_no_command_and_runs_in_control(visit: Visit) -> None:
    """It is begun without a movement's checks, so a command in it is refused before anything else is looked at."""
    looking = msgspec.structs.replace(OPEN, commands=(), safe_end=SafeEnd.SEND_NOTHING, safe_command=None)
    order = _Order(procedure="see_contacts")
    assert "only in control; the unit is live" in _why(visit, looking, order)
    person = good_person()
    step = person.walk_to("I3-commands")
    while not isinstance(pending(person.visit.job, step, person.visit.now), RunProcedure):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    order = _Order(step=step.id, procedure="see_contacts", arguments={"test": "I3-commands 1"})
    assert "only looks, and names a command" in _why(person.visit, OPEN, order)
    assert _why(person.visit, looking, order) == ""

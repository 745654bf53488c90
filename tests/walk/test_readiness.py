"""Which command points were proved (rule R8)."""

from commission.job.bodies import Adjusted
from commission.walk.readiness import is_motion, not_proved, proved_commands
from tests.walk.visits import Visit, good_person


def test_nothing_is_proved_by_a_list() -> None:
    """A new job has proved nothing, and what moves the valve is named."""
    job = Visit().job
    assert proved_commands(job) == frozenset()
    assert not_proved(job, ("command_open", "command_stop")) == ("command_open",)


def test_the_pulse_in_control_proves() -> None:
    """After I3-commands all three are proved."""
    person = good_person()
    person.walk_to("J2")
    assert proved_commands(person.visit.job) >= {"command_open", "command_close"}


def test_a_changed_map_proves_nothing_any_more() -> None:
    """Touching the register map makes the pulse void."""
    person = good_person()
    person.walk_to("J2")
    person.visit.record(Adjusted(touched="register-map", detail="list counts from 1"))
    assert not_proved(person.visit.job, ("command_open",)) == ("command_open",)


def test_a_point_without_a_class_counts_as_motion() -> None:
    """What nobody named is taken for the worst."""
    job = Visit().job
    assert is_motion(job, "set_point")
    assert not is_motion(job, "command_stop")
    assert not is_motion(job, "command_reset")

"""Safety rule R7: minutes to the permit's end always in sight; what cannot end before it is refused; GAS ALARM."""

from datetime import datetime, timedelta

import pytest

from commission.energy import EnergyState
from commission.job.bodies import LeaveGiven, LeaveWithdrawn
from commission.walk import acts
from commission.walk.gate import refusal
from commission.walk.state_line import permit_words
from tests.walk.visits import good_person


@pytest.mark.parametrize(("minutes", "refused"), [(6.0, False), (5.5, True), (1.0, True), (-1.0, True)])
def test_r07_a_movement_that_cannot_end_before_the_permit_is_refused(minutes: float, refused: bool) -> None:  # noqa: FBT001  # a parameter
    """K1 may take 275 s, and a minute is left to make it safe."""
    person = good_person()
    step = person.walk_to("K1")
    visit = person.visit
    until = visit.job.register.permits[-1].until_utc
    visit.now = datetime.fromisoformat(until) - timedelta(minutes=minutes)
    assert (refusal(visit.job, step, visit.now) is not None) is refused


def test_r07_making_safe_never_waits_for_a_permit() -> None:
    """An ended permit keeps nobody from locking it."""
    person = good_person()
    person.walk_to("K1")
    person.visit.wait(24 * 60)
    back = person.visit.job.checklist.step("E7-live")
    assert refusal(person.visit.job, back, person.visit.now) is None
    person.walk_step(back)
    assert person.visit.job.energy_log.now.state is EnergyState.LOCKED


def test_r07_minutes_are_in_sight_in_every_state() -> None:
    """Also before a permit is recorded."""
    person = good_person()
    for step in ("B3", "B5", "F2", "H1", "I2", "K1", "Q5"):
        person.walk_to(step)
        assert "permit" in permit_words(person.visit.job, person.visit.now).lower()


def test_r07_gas_alarm_stores_everything_withdraws_leave_and_says_leave_do_not_unplug() -> None:
    """The state is unknown from there; nothing is blanked."""
    person = good_person()
    person.walk_to("K1")
    visit = person.visit
    visit.record(LeaveGiven(test="K1 open 1", values={"command_open": (1,)}, until_ns=1))
    stored = len(visit.events)
    bodies = acts.gas_alarm(visit.job)
    assert isinstance(bodies[0], LeaveWithdrawn)
    for body in bodies:
        visit.record(body)
    assert len(visit.events) == stored + 2
    assert visit.job.energy_log.now.state is EnergyState.UNKNOWN
    assert "Leave now" in acts.GAS_ALARM_WORDS
    assert "Do not unplug" in acts.GAS_ALARM_WORDS

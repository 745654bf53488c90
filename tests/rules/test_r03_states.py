"""Safety rule R3: states are believed on evidence; unknown counts as live for hands and as locked for writes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.checklist import Access
from commission.energy import CROSSINGS, EnergyState
from commission.job.bodies import EnergyBegun
from commission.walk import acts
from commission.walk.gate import moves, refusal
from commission.walk.prompts import pending
from commission.walk.route import applicable, crossings_from, current
from commission.walk.state_line import danger
from tests.walk.visits import Person, good_person

INSIDE = (Access.INSIDE, Access.FITTED_WHILE_LOCKED)


@pytest.mark.parametrize("leads", ["restart", "lid", "gas", "abandoned"])
def test_r03_what_leads_to_unknown(leads: str) -> None:
    """A restart, a closed lid, a gas alarm, a crossing that was not completed."""
    person = good_person()
    person.walk_to("F2")
    visit = person.visit
    if leads == "restart":
        visit.restart()
    elif leads == "lid":
        visit.lose_state()
    elif leads == "gas":
        for body in acts.gas_alarm(visit.job):
            visit.record(body)
    else:
        visit.record(EnergyBegun(target="pumping"))
        visit.record(acts.abandon_crossing(visit.job, "rain"))
    assert visit.job.energy_log.now.state is EnergyState.UNKNOWN
    for step in applicable(visit.job):
        if step.access in INSIDE or moves(step):
            assert refusal(visit.job, step, visit.now) is not None, step.id


def test_r03_unknown_is_left_only_by_looking_again() -> None:
    """Locks looked at, gauges read, people counted: every way out asks for all that applies."""
    for way in CROSSINGS:
        if way.source is EnergyState.UNKNOWN:
            facts = {stage.fact for stage in way.stages}
            assert {"locks looked at", "people counted"} <= facts
            if way.target in (EnergyState.LOCKED, EnergyState.CONTROL):
                assert {"zero", "valve safe"} <= facts


def test_r03_in_operation_to_live_without_a_lockout_needs_permit_controller_count_and_barrier() -> None:
    """For a test that needs no hands in."""
    way = next(way for way in CROSSINGS if (way.source, way.target) == (EnergyState.IN_OPERATION, EnergyState.LIVE))
    facts = [stage.fact for stage in way.stages]
    assert facts == ["permit named", "controller agrees", "people counted", "barrier up"]


@pytest.mark.parametrize(("held", "said"), [("blocked by screw cap SC-2", False), ("control power", True)])
def test_r03_pumping_has_two_variants(held: str, said: bool) -> None:  # noqa: FBT001  # a parameter
    """Dump blocked goes on the temporary list; dump held by power says DANGER all the while."""
    person = good_person()
    person.script["dump held"] = held
    person.walk_to("H1")
    on = [item.added.kind for item in person.visit.job.temporary.values() if item.is_on]
    assert (on == ["blocked-solenoid"]) is not said
    assert bool(danger(person.visit.job)) is said


ACTS = st.lists(st.sampled_from(["go on"] * 12 + ["restart", "lid", "gas", "cross", "wait"]), max_size=60)


def _do(person: Person, act: str, pick: int) -> None:
    """One act of a person who does not always do the sensible thing."""
    visit = person.visit
    if act == "restart":
        visit.restart()
    elif act == "lid":
        visit.lose_state()
    elif act == "gas":
        for body in acts.gas_alarm(visit.job):
            visit.record(body)
    elif act == "wait":
        visit.wait(30)
    else:
        ways = crossings_from(visit.job)
        step = ways[pick % len(ways)] if act == "cross" and ways else current(visit.job)
        if step is not None and refusal(visit.job, step, visit.now) is None:
            person.act(step, pending(visit.job, step, visit.now))


@settings(max_examples=8, deadline=None)
@given(ACTS, st.integers(0, 7), st.sampled_from(["B5", "E5", "G4", "H1", "I2", "J2", "K1", "Q3"]))
def test_r03_random_acts_never_offer_a_movement_past_a_lock_or_hands_in_a_unit_not_locked(
    sequence: list[str], pick: int, start: str
) -> None:
    """Whatever people do, in whatever order."""
    person = good_person()
    person.walk_to(start)
    for act in sequence:
        _do(person, act, pick)
        job = person.visit.job
        energy = job.energy_log.now
        for step in applicable(job):
            if refusal(job, step, person.visit.now) is not None:
                continue
            if moves(step) and step.state == "live":
                assert not energy.locks
                assert energy.state is EnergyState.LIVE
                assert energy.target is None
            if step.access in INSIDE:
                assert energy.state is EnergyState.LOCKED
                assert energy.target is None
                assert len(energy.locks) == len(job.sheet.sources)

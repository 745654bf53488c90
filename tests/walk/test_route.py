"""The route: order, conditions, crossings by need, and back again after a defect."""

import pytest

from commission.energy import EnergyState
from commission.job.bodies import Adjusted, StepBegun, StepConcluded
from commission.walk.prompts import pending
from commission.walk.route import (
    applicable,
    crossings_from,
    crossings_to,
    current,
    is_done,
    next_working_step,
    not_applicable,
    on_request,
    open_step,
    opens_the_way,
    progress,
)
from tests.walk.visits import Visit, good_person, texts


def test_a_new_job_begins_with_the_papers() -> None:
    """Steps of state any come first; no crossing is asked for them."""
    step = current(Visit().job)
    assert step is not None
    assert step.id == "A3"


def test_a_crossing_is_walked_when_the_next_step_belongs_to_another_state() -> None:
    """B4 belongs to in operation and a new job is unknown, so it is looked at again first."""
    person = good_person()
    person.walk_to("B0-operation")
    ahead = next_working_step(person.visit.job)
    assert ahead is not None
    assert ahead.id == "B4"


def test_a_step_whose_condition_does_not_hold_is_left_out_and_says_why() -> None:
    """Without an accumulator there is no precharge step."""
    sheet, _ = texts()
    start, end = sheet.text.index("[accumulator]"), sheet.text.index("[orifices]")
    bare = type(sheet)(sheet.name, sheet.text[:start] + sheet.text[end:])
    job = Visit(sheet=bare).job
    assert "G4" not in [step.id for step in applicable(job)]
    assert not_applicable(job)["G4"] == "accumulator is absent; the step is for present (from the sheet)"


def test_after_a_defect_the_route_leads_down_to_locked_and_up_again() -> None:
    """Live, a limit screw is loose: E7-live is walked out of turn, and the walk climbs by the crossings it knows."""
    person = good_person()
    person.walk_to("K4")
    visit = person.visit
    assert "E7-live" in [step.id for step in crossings_from(visit.job)]
    person.walk_step(visit.job.checklist.step("E7-live"))
    assert visit.job.energy_log.now.state is EnergyState.LOCKED
    visit.record(Adjusted(touched="limit-cam", detail="closed limit's screw tightened"))
    assert not is_done(visit.job, "K1")
    before = len(person.walked)
    person.walk()
    again = ["H0", "H2", "H9", "I1", "I2", "I2-limits", "I4", "J0", "K1", "K4"]
    assert person.walked[before : before + len(again)] == again
    assert visit.job.steps["K1"].last is not None
    assert visit.job.steps["K1"].last.verdict == "pass after adjustment"
    assert len(visit.job.register.signatures) == 2


@pytest.mark.parametrize("step", ["B5", "G4", "H2", "I2", "K4"])
def test_a_restart_anywhere_leads_back_and_to_the_end(step: str) -> None:
    """Wherever the program is started again, the state is proved anew and the walk still ends signed."""
    person = good_person()
    person.walk_to(step)
    person.visit.restart()
    ahead = current(person.visit.job)
    assert ahead is not None
    assert ahead.state == "unknown"
    person.walk()
    assert len(person.visit.job.register.signatures) == 2


def test_a_restart_in_the_middle_of_isolation_ends_in_a_whole_isolation() -> None:
    """With three locks on and the program started again, nothing is skipped and no lock is asked for twice."""
    person = good_person()
    step = person.walk_to("E5")
    visit = person.visit
    while len(visit.job.energy_log.now.locks) < 3:
        person.act(step, pending(visit.job, step, visit.now))
    visit.restart()
    person.walk(lambda job: job.energy_log.now.state is EnergyState.LOCKED)
    facts = [fact.fact for fact in visit.job.energy_log.crossed[-1].facts]
    assert facts.count("locked") == len(visit.job.sheet.sources) - 3
    assert "try-start failed" in facts


def test_an_open_step_is_the_current_one() -> None:
    """A step begun and left is resumed before anything else."""
    visit = Visit()
    visit.record(StepBegun(step="A5"))
    assert open_step(visit.job) == current(visit.job) == visit.job.checklist.step("A5")


def test_what_the_open_step_needs_comes_first_when_it_became_void() -> None:
    """K1 is open, wiring is touched: J2 is void and is walked before K1 goes on."""
    person = good_person()
    step = person.walk_to("K1")
    person.act(step, pending(person.visit.job, step, person.visit.now))
    person.visit.record(Adjusted(touched="wiring", detail="terminal 7 tightened"))
    ahead = current(person.visit.job)
    assert ahead is not None
    assert ahead.id == "J2"


def test_a_step_not_tested_is_done_but_opens_no_way() -> None:
    """`could not do` lets the walk go on, not the interlock."""
    visit = Visit()
    visit.record(StepBegun(step="B3"))
    visit.record(StepConcluded(step="B3", verdict="not tested", reason="office closed"))
    assert is_done(visit.job, "B3")
    assert not opens_the_way(visit.job, "B3")


def test_the_shortest_way_is_taken() -> None:
    """From in operation to live there is one way: isolate, control, live."""
    person = good_person()
    person.walk_to("E5")
    assert [step.id for step in crossings_to(person.visit.job, EnergyState.LIVE)] == ["E5", "I1", "J0"]
    assert crossings_to(person.visit.job, EnergyState.IN_OPERATION) == ()


def test_progress_counts_working_steps_by_phase() -> None:
    """Crossings are not work that is counted."""
    person = good_person()
    person.walk_to("B5")
    counted = {phase.id: (phase.done, phase.of) for phase in progress(person.visit.job)}
    assert counted["A"] == (2, 2)
    assert counted["B"] == (3, 4)
    assert "E" not in counted


def test_a_step_on_request_is_no_part_of_the_walk_until_somebody_asks() -> None:
    """One more stroke is offered, never due, and blocks nothing; once begun it is walked like any other."""
    person = good_person()
    person.walk_to("K4")
    visit = person.visit
    assert {step.id for step in on_request(visit.job)} == {
        *("K1-back", "K1-more-open", "K1-more-closed", "L2-more", "L1-back"),
    }
    assert not {"K1-more-open", "K1-more-closed"} & {step.id for step in applicable(visit.job)}
    more = visit.job.checklist.step("K1-more-open")
    visit.record(StepBegun(step=more.id, cautions=more.cautions))
    assert current(visit.job) == more
    person.walk_step(more)
    assert is_done(visit.job, more.id)
    ahead = next_working_step(visit.job)
    assert ahead is not None
    assert ahead.id == "K4"

"""The gate: every reason why a step may not begin, in words that say what would settle it."""

import msgspec
import pytest

from commission.checklist import Access, Step, load_checklist
from commission.content import checklists_folder
from commission.energy import EnergyState, Lock
from commission.job.bodies import (
    Adjusted,
    ContactLost,
    DeviationAccepted,
    EnergyBegun,
    StepBegun,
    StepConcluded,
    TemporaryAdded,
)
from commission.job.state import fold
from commission.walk.gate import moves, refusal
from commission.walk.prompts import RunProcedure, pending
from tests.walk.visits import GOOD_SCRIPT, Person, Visit, good_person, texts


def _why(visit: Visit, step: Step | str) -> str:
    chosen = visit.job.checklist.step(step) if isinstance(step, str) else step
    return str(refusal(visit.job, chosen, visit.now) or "")


def test_a_step_that_may_begin_is_not_refused() -> None:
    """The first step of a new job."""
    assert _why(Visit(), "A3") == ""


def test_a_read_only_job_refuses_everything() -> None:
    """An unknown kind that must be known makes the job read-only here."""
    visit = Visit()
    visit.job = msgspec.structs.replace(visit.job, read_only="it holds 'valve_welded'")
    assert "only be read" in _why(visit, "A3")


def test_an_open_motion_refuses_everything_else() -> None:
    """While a motion is open nothing begins."""
    person = good_person()
    step = person.walk_to("K1")
    while not isinstance(prompt := pending(person.visit.job, step, person.visit.now), RunProcedure):
        person.act(step, prompt)
    visit = person.visit
    before = len(visit.events)
    visit.run(step, prompt)
    begun = visit.events[before]
    half = Visit()
    half.job, half.now = fold(visit.events[: before + 1]), visit.now
    assert begun.kind == "motion_begun"
    assert "still open" in _why(half, "Q1")


def test_isolation_waits_for_the_as_found_stroke_but_not_for_its_success() -> None:
    """Safety rule R21: isolating lets the valve go; where the stroke could not be made, its reason is enough."""
    visit = Visit(checklist=load_checklist(checklists_folder() / "retest.toml")[1])
    isolate = visit.job.checklist.step("E7-live")
    assert "E7-live needs K1-closed" in _why(visit, isolate)
    visit.record(StepBegun(step="K1-closed"))
    visit.record(StepConcluded(step="K1-closed", verdict="not tested", reason="the owner gave no leave"))
    assert "K1-closed" not in _why(visit, isolate)


def test_a_step_for_another_unit_is_refused_with_why() -> None:
    """A step that does not apply says which field of the sheet stands against it."""
    sheet, _ = texts()
    start, end = sheet.text.index("[monitor]"), sheet.text.index("[strokes.opening]")
    visit = Visit(sheet=type(sheet)(sheet.name, sheet.text[:start] + sheet.text[end:]))
    assert "does not apply: monitor is absent" in _why(visit, "Q1-monitor")


def test_another_half_done_step_is_finished_first() -> None:
    """One thing at a time."""
    visit = Visit()
    visit.record(StepBegun(step="A5"))
    assert "A5 is half done" in _why(visit, "B2")
    assert _why(visit, "A5") == ""


def test_needs_name_the_step_that_is_missing() -> None:
    """E5 asks for the permissions first."""
    assert "needs A5" in _why(Visit(), "E5")


def test_a_void_need_asks_for_its_repetition() -> None:
    """Wiring touched: J2 is void, K1 waits for it."""
    person = good_person()
    person.walk_to("K1")
    person.visit.record(Adjusted(touched="wiring", detail="terminal 7"))
    assert "J2 is void" in _why(person.visit, "K1")


def test_a_failed_need_opens_no_way_until_its_deviation_is_accepted() -> None:
    """The serial differs by one digit: a deviation; accepted by the owner's side, the walk goes on."""
    visit = Visit()
    visit.connect()
    person = Person(visit, {**GOOD_SCRIPT, "B4.serial": "EH-40118"})
    person.walk_to("B5")
    assert "needs B4, which is 'fail'" in _why(visit, "B5")
    (name,) = visit.job.deviations
    visit.record(DeviationAccepted(id=name, reason="Piet Exampler: sheet has a slip"))
    assert _why(visit, "B5") == ""


def test_unknown_counts_as_live_for_hands_and_as_locked_for_writes() -> None:
    """Neither a hands-in step nor a stroke begins while the state is unknown."""
    person = good_person()
    person.walk_to("F2")
    person.visit.lose_state()
    assert "counts as live for hands and as locked for writes" in _why(person.visit, "F2")


def test_a_step_of_another_state_names_the_way_there() -> None:
    """F2 belongs to locked; in operation the way is E5."""
    person = good_person()
    person.walk_to("E5")
    assert "First E5" in _why(person.visit, "F2")


def test_nothing_begins_on_the_way_to_another_state() -> None:
    """A crossing under way is completed, or abandoned."""
    person = good_person()
    person.walk_to("F2")
    person.visit.record(EnergyBegun(target="control"))
    assert "crossing to control is not complete" in _why(person.visit, "F2")


def test_hands_go_in_only_while_locked() -> None:
    """Whatever a checklist says, the gate itself refuses hands inside in any other state."""
    person = good_person()
    step = person.walk_to("B5")
    inside = msgspec.structs.replace(step, access=Access.INSIDE)
    assert "Hands may not go in: the unit is in operation" in _why(person.visit, inside)
    terminals = msgspec.structs.replace(step, access=Access.QUALIFIED_CONTROL)
    assert "Terminals only in control" in _why(person.visit, terminals)


def test_nothing_moves_past_a_recorded_lock() -> None:
    """A lock that is recorded on stops every step that moves the valve live."""
    person = good_person()
    step = person.walk_to("K1")
    job = person.visit.job
    energy = msgspec.structs.replace(job.energy_log.now, locks={"motor": Lock("motor", "7", "Juno Demoval", "")})
    log = msgspec.structs.replace(job.energy_log, now=energy)
    person.visit.job = msgspec.structs.replace(job, energy_log=log)
    assert "Juno Demoval's lock 7 is recorded on motor" in _why(person.visit, step)


def test_a_blocked_dump_refuses_power_and_movement() -> None:
    """While the dump is blocked, ESD cannot bring the valve home."""
    person = good_person()
    person.walk_to("I1")
    person.visit.record(
        TemporaryAdded(id="T9", kind="blocked-solenoid", what="dump valve", where="SC-2", why="hand pump")
    )
    assert "ESD cannot bring the valve home" in _why(person.visit, "I1")


def test_the_permit_is_asked_for_where_work_begins_and_not_where_it_is_made_safe() -> None:
    """After the permit's end no stroke begins, but going back to locked is never refused for it."""
    person = good_person()
    person.walk_to("K1")
    person.visit.wait(24 * 60)
    assert "has ended" in _why(person.visit, "K1")
    assert _why(person.visit, "E7-live") == ""


def test_what_is_commanded_or_read_needs_contact() -> None:
    """No answer from the unit: no stroke, no reading."""
    person = good_person()
    person.walk_to("K1")
    person.visit.record(ContactLost(reason="lead torn off"))
    assert "does not answer: lead torn off" in _why(person.visit, "K1")
    assert "read from the unit" in _why(person.visit, "Q1")


def test_signing_is_refused_with_the_first_blocker() -> None:
    """The most dangerous list comes first."""
    person = good_person()
    person.walk_to("Q7")
    person.visit.record(TemporaryAdded(id="T9", kind="jumper", what="jumper", where="TB-3", why="test"))
    assert "Still on: jumper" in _why(person.visit, "Q7")


@pytest.mark.parametrize("name", ["K1", "J2"])
def test_strokes_and_jogs_count_as_moving_while_live(name: str) -> None:
    """By procedure or by panel."""
    assert moves(Visit().job.checklist.step(name))


@pytest.mark.parametrize("name", ["H1", "E5", "A5"])
def test_pumping_and_crossings_have_rules_of_their_own(name: str) -> None:
    """In pumping the locks stay on; a crossing proves its own evidence."""
    assert not moves(Visit().job.checklist.step(name))


def test_a_crossing_from_the_wrong_state_is_refused() -> None:
    """J0 leads out of control."""
    person = good_person()
    person.walk_to("H0")
    assert person.visit.job.energy_log.now.state is EnergyState.LOCKED
    assert "J0 leads out of control; the unit is locked" in _why(person.visit, _without_needs(person.visit, "J0"))


def _without_needs(visit: Visit, name: str) -> Step:
    return msgspec.structs.replace(visit.job.checklist.step(name), needs=())


def test_a_normally_closed_vent_moves_only_with_its_upstream_isolation_locked() -> None:
    """Rule R1: any stroke of such a valve needs the lock recorded."""
    person = good_person()
    step = person.walk_to("K1")
    job = person.visit.job
    valve = msgspec.structs.replace(job.sheet.valve, normally_closed_vent=True)
    person.visit.job = msgspec.structs.replace(job, sheet=msgspec.structs.replace(job.sheet, valve=valve))
    assert "normally closed vent" in _why(person.visit, step)


def test_a_step_not_tested_keeps_the_interlock_closed() -> None:
    """The reason given for not doing it is repeated where it stands in the way."""
    person = good_person()
    person.walk_to("J2")
    person.visit.record(StepBegun(step="J2"))
    person.visit.record(StepConcluded(step="J2", verdict="not tested", reason="no second person"))
    assert "no second person" in _why(person.visit, "J3")

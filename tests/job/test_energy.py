"""Tests of the energy log of a job."""

import pytest

from commission.energy import EnergyError, EnergyState
from commission.job import bodies
from commission.job.energy import EnergyLog, fold_energy
from tests.energy.way import OLLIE, TESS, xv_1101
from tests.job.told import Told, seen


def test_a_new_job_is_unknown_and_a_restart_makes_it_so_again() -> None:
    """Safety rule R3: nothing is believed from before the program started."""
    told = Told().cross(EnergyState.LOCKED)
    locks = told.job.energy_log.now.locks
    told.tell(bodies.SessionStarted(program_version="0.1.0", resumed=True), by="program")
    now = told.job.energy_log.now
    assert (now.state, now.reason, now.locks) == (EnergyState.UNKNOWN, "the program was started again", locks)


def test_each_crossing_is_logged_with_whose_word_and_what_proved_it() -> None:
    """The log has state before and after, who, how many locks and people, and the evidence."""
    told = Told().cross(EnergyState.LOCKED, EnergyState.CONTROL)
    first, locked, control = told.job.energy_log.crossed
    assert (first.reason, first.target) == ("a new job", EnergyState.UNKNOWN)
    assert (locked.source, locked.target, locked.by) == (EnergyState.UNKNOWN, EnergyState.LOCKED, TESS)
    assert locked.locks == len(told.sheet.sources)
    assert (control.people, control.locks) == (4, 2)
    assert "lock removed" in [fact.fact for fact in control.facts]


def test_an_illegal_energy_event_raises_and_changes_nothing() -> None:
    """Entering without evidence, facts out of order and ways that do not exist are refused."""
    told = Told()
    before = told.job
    for body in (
        bodies.EnergyEntered(state="live"),
        bodies.EnergyProved(fact="locked", subject="motor", details={"number": "7"}),
        bodies.EnergyBegun(target="pumping"),
    ):
        with pytest.raises(EnergyError):
            told.tell(body)
    with pytest.raises(ValueError, match="sideways"):
        told.tell(bodies.EnergyBegun(target="sideways"))
    assert told.job is before


def test_the_word_is_that_of_the_event() -> None:
    """Evidence is recorded by who said it, at the time of the event."""
    log = fold_energy(EnergyLog(), seen(bodies.EnergyBegun(target="in operation")), xv_1101())
    fact = bodies.EnergyProved(fact="as operations left it", subject="", details={"text": "Ollie"})
    log = fold_energy(log, seen(fact, 5, OLLIE), xv_1101())
    assert (log.now.facts[0].by, log.now.facts[0].at_utc) == (OLLIE, seen(fact, 5).event.at_utc)


def test_a_lost_state_is_logged_with_its_reason() -> None:
    """A gas alarm leads to unknown, and the log says why."""
    told = Told().cross(EnergyState.IN_OPERATION).tell(bodies.EnergyLost(reason="gas alarm"))
    assert told.job.energy_log.crossed[-1].reason == told.job.energy_log.now.reason == "gas alarm"


def test_other_events_leave_the_log_alone() -> None:
    """The fold gives the very same log back."""
    log = EnergyLog()
    assert fold_energy(log, seen(bodies.StepBegun(step="B1")), xv_1101()) is log

"""Safety rule R6: a try-start leaves a command behind; outputs go back to neutral before anything is energised."""

from commission.energy import CROSSINGS, EnergyState
from commission.energy.crossings import ISOLATION
from tests.walk.visits import good_person


def test_r06_after_the_try_start_outputs_are_confirmed_neutral() -> None:
    """Last of all in the isolation."""
    assert [stage.fact for stage in ISOLATION[-2:]] == ["try-start failed", "commands neutral"]


def test_r06_every_way_from_locked_to_control_confirms_it_before_a_lock_comes_off() -> None:
    """Also where control is looked at again."""
    for way in CROSSINGS:
        if way.target is not EnergyState.CONTROL:
            continue
        facts = [stage.fact for stage in way.stages]
        assert "commands neutral" in facts
        if "lock removed" in facts:
            assert facts.index("commands neutral") < facts.index("lock removed")


def test_r06_it_is_asked_at_every_crossing_again() -> None:
    """Evidence of an earlier crossing does not count."""
    person = good_person()
    person.walk_to("K1")
    person.walk_step(person.visit.job.checklist.step("E7-live"))
    person.walk_to("K1")
    entries = [entry for entry in person.visit.job.energy_log.crossed if entry.target is EnergyState.CONTROL]
    assert len(entries) == 2
    assert all("commands neutral" in [fact.fact for fact in entry.facts] for entry in entries)

"""The energy state in one line."""

import pytest

from commission.walk.prompts import pending
from commission.walk.state_line import danger, permit_words, pumping_variant, state_line
from tests.walk.visits import Person, Visit, good_person


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ("B5", "IN OPERATION, look only, recorded 06:4"),
        ("F2", "LOCKED recorded 07:0"),
        ("H1", "PUMPING dump blocked recorded 07:0"),
        ("I2", "CONTROL recorded 07:2"),
        ("K1", "LIVE keep out, 4 counted 07:2"),
    ],
)
def test_each_state_says_whose_word_and_when(step: str, words: str) -> None:
    """Never that everybody is clear: only the count and its time."""
    person = good_person()
    person.walk_to(step)
    line = state_line(person.visit.job)
    assert line.startswith(words)
    assert "clear" not in line.lower()


def test_locked_counts_its_locks() -> None:
    """Seven sources, seven locks; in control the motor's and the oil's are left."""
    person = good_person()
    person.walk_to("F2")
    assert state_line(person.visit.job).endswith("Tess Placeholder, 7 locks")
    person.walk_to("I2")
    assert state_line(person.visit.job).endswith("Tess Placeholder, 2 locks")


def test_unknown_says_since_when_and_why() -> None:
    """A restart, a lid, a gas alarm."""
    visit = Visit()
    assert state_line(visit.job) == "UNKNOWN since 06:40: a new job"
    visit.wait(280)
    visit.restart()
    assert state_line(visit.job) == "UNKNOWN since 11:20: the program was started again"


def test_a_crossing_under_way_is_said() -> None:
    """The state is still the old one, and where it leads is shown."""
    person = good_person()
    step = person.walk_to("E5")
    for _ in range(3):
        person.act(step, pending(person.visit.job, step, person.visit.now))
    assert state_line(person.visit.job).endswith("; crossing to locked")


def test_pumping_held_by_power_is_danger() -> None:
    """Control power comes back on for it, motor and oil stay locked; the danger of that variant is said."""
    person = good_person()
    visit = person.visit
    person.script["dump held"] = "control power"
    person.walk_to("H1")
    assert sorted(visit.job.energy_log.now.locks) == ["accumulator", "motor", "sensing-line"]
    assert pumping_variant(visit.job) == "dump held by control power"
    assert "Nobody inside the guard" in danger(visit.job)
    assert "loss of 24 V or ESD strokes the valve" in danger(visit.job)
    person.walk_to("I1")
    assert len(visit.job.energy_log.now.locks) == 7
    assert "proved dead" in [fact.fact for fact in visit.job.energy_log.crossed[-1].facts]


def test_no_other_state_is_dangerous_by_itself() -> None:
    """A blocked dump holds without power."""
    person = good_person()
    person.walk_to("H1")
    assert danger(person.visit.job) == ""


def test_minutes_to_the_permits_end_are_always_said() -> None:
    """From the time it is recorded until after its end."""
    visit = Visit()
    assert permit_words(visit.job, visit.now) == "no permit"
    person = Person(visit, {"B3.until": "200 min"})
    visit.connect()
    person.walk_to("B0-operation")
    assert permit_words(visit.job, visit.now) == "permit 199 min"
    visit.wait(180)
    assert permit_words(visit.job, visit.now) == "PERMIT ENDS IN 19 min"
    visit.wait(20)
    assert permit_words(visit.job, visit.now) == "PERMIT ENDED"

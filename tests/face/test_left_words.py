"""In what state a job was left."""

from commission.face.left_words import left_words
from commission.job import bodies
from commission.walk import acts
from tests.walk.visits import Visit, good_person


def test_a_new_job_has_nothing_done() -> None:
    """The state is unknown, and how many steps there are is said."""
    words = left_words(Visit().job)
    assert words.startswith("left UNKNOWN")
    assert "; 0 of " in words
    assert "begun" not in words


def test_what_is_open_is_counted() -> None:
    """A begun step, what is temporary, what deviates."""
    visit = Visit()
    visit.record(bodies.StepBegun(step="A3"))
    visit.record(acts.temporary_on(visit.job, "jumper", "wire", "TB-3", "to hold the loop"))
    visit.record(acts.raise_deviation(visit.job, "A3", "in date", "overdue"))
    words = left_words(visit.job)
    assert "A3 begun" in words
    assert "1 on the temporary list" in words
    assert words.endswith("1 deviation open")


def test_steps_done_are_counted() -> None:
    """As the phases count them."""
    person = good_person()
    person.walk_to("K1")
    words = left_words(person.visit.job)
    assert words.startswith("left LIVE keep out")
    assert "; 0 of " not in words

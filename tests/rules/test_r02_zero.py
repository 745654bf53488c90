"""Safety rule R2: zero, volume by volume; no reading is never zero."""

import pytest

from commission.energy import EnergyState
from commission.walk.answers import AnswerError, answer
from commission.walk.evidence import evidence
from commission.walk.prompts import Evidence, pending
from tests.walk.visits import TESS, Person, good_person


def _at(fact: str, subject: str) -> tuple[Person, Evidence]:
    person = good_person()
    step = person.walk_to("E5")
    while True:
        prompt = pending(person.visit.job, step, person.visit.now)
        if isinstance(prompt, Evidence) and (prompt.need.fact, prompt.need.subject) == (fact, subject):
            return person, prompt
        person.act(step, prompt)


def _facts() -> list[tuple[str, str]]:
    person = good_person()
    person.walk_to("F2")
    return [(fact.fact, fact.subject) for fact in person.visit.job.energy_log.crossed[-1].facts]


def test_r02_motor_first_then_the_gauges_fall_then_everything_else_then_zero() -> None:
    """The gauge is seen above zero with control still on, the bleed opened, seen to fall; then the rest is locked."""
    facts = _facts()
    motor = facts.index(("locked", "motor"))
    control = facts.index(("locked", "control"))
    array = facts.index(("locked", "array"))
    for volume in ("cylinder", "accumulator-oil", "hand-pump"):
        order = [
            motor,
            facts.index(("seen above zero", volume)),
            facts.index(("seen to fall", volume)),
            control,
            array,
            facts.index(("zero", volume)),
            facts.index(("no rise", volume)),
            facts.index(("try-start failed", "")),
        ]
        assert order == sorted(order)


def test_r02_every_trapped_volume_is_asked_for_and_nitrogen_and_spring_are_said_to_be_loaded() -> None:
    """One by one, from the sheet."""
    facts = _facts()
    assert [subject for fact, subject in facts if fact == "zero"] == ["cylinder", "accumulator-oil", "hand-pump"]
    assert [subject for fact, subject in facts if fact == "still loaded"] == ["nitrogen", "spring"]


@pytest.mark.parametrize(
    ("fact", "text", "words"),
    [
        ("seen above zero", "0 bar", "not above zero"),
        ("seen to fall", "97 bar", "has not fallen"),
        ("zero", "0 bar transmitter", "gives no reading, which is never zero"),
        ("zero", "1 bar", "is not zero"),
        ("no rise", "0 bar", "watch cylinder for 5 minutes"),
    ],
)
def test_r02_what_is_no_reading_is_refused(fact: str, text: str, words: str) -> None:
    """A gauge never seen above zero, one that has not fallen, an unpowered transmitter, too short a watch."""
    person, prompt = _at(fact, "cylinder")
    visit = person.visit
    with pytest.raises(AnswerError, match=words):
        answer(visit.job, visit.job.checklist.step("E5"), prompt, text, TESS, visit.now)


def test_r02_the_transmitter_counts_while_control_is_still_on() -> None:
    """Before the control supply is locked off."""
    person, prompt = _at("seen above zero", "cylinder")
    visit = person.visit
    energy = visit.job.energy_log.now
    details = evidence(energy, visit.job.sheet, prompt.need, "52 bar transmitter", TESS, visit.now)
    assert details["read_on"] == "transmitter"


def test_r02_a_measured_answer_without_a_reading_is_refused() -> None:
    """A stale or absent value is handed over as no reading at all."""
    person = good_person()
    step = person.walk_to("B4")
    visit = person.visit
    while True:
        prompt = pending(visit.job, step, visit.now)
        if getattr(getattr(prompt, "question", None), "kind", "") == "measured":
            break
        person.act(step, prompt)
    with pytest.raises(AnswerError, match="never zero"):
        answer(visit.job, step, prompt, "0", TESS, visit.now, None)
    assert visit.job.energy_log.now.state is EnergyState.IN_OPERATION

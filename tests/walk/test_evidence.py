"""Evidence in plain words."""

from typing import Any

import pytest

from commission.energy import Need
from commission.walk.evidence import EvidenceError, evidence, states_something
from commission.walk.prompts import Evidence, pending
from tests.walk.visits import TESS, Person, good_person


def _at(fact: str, subject: str = "") -> tuple[Person, Need]:
    """A person in the isolation, at this piece of evidence."""
    person = good_person()
    step = person.walk_to("E5")
    while True:
        prompt = pending(person.visit.job, step, person.visit.now)
        if isinstance(prompt, Evidence) and prompt.need.fact == fact and subject in ("", prompt.need.subject):
            return person, prompt.need
        person.act(step, prompt)


def _given(person: Person, need: Need, text: str) -> dict[str, Any]:
    visit = person.visit
    return dict(evidence(visit.job.energy_log.now, visit.job.sheet, need, text, TESS, visit.now))


@pytest.mark.parametrize("text", ["7", "lock 7", "Lock No. 7", "#7", " lock  7 "])
def test_a_lock_has_a_number(text: str) -> None:
    """As people say it."""
    assert _given(*_at("locked"), text) == {"number": "7"}


@pytest.mark.parametrize("text", ["yes", "the red one", ""])
def test_a_lock_without_a_number_is_no_lock(text: str) -> None:
    """The colour of a padlock proves nothing."""
    with pytest.raises(EvidenceError):
        _given(*_at("locked"), text)


def test_one_lock_is_not_on_two_devices() -> None:
    """Lock 11 is on the motor."""
    person, need = _at("locked", "control")
    with pytest.raises(EvidenceError, match="lock 11 is recorded on motor"):
        _given(person, need, "11")


@pytest.mark.parametrize(
    ("text", "details"),
    [
        ("96 bar", {"bar": 96.0, "read_on": "gauge"}),
        ("96", {"bar": 96.0, "read_on": "gauge"}),
        ("12,5 bar gauge", {"bar": 12.5, "read_on": "gauge"}),
        ("1450 psi", {"bar": 99.973981, "read_on": "gauge"}),
        ("9.6 MPa", {"bar": 96.0, "read_on": "gauge"}),
        ("52 bar transmitter", {"bar": 52.0, "read_on": "transmitter"}),
        ("test 10 bar", {"bar": 10.0, "read_on": "test pressure"}),
        ("10 bar test pressure", {"bar": 10.0, "read_on": "test pressure"}),
    ],
)
def test_a_reading_has_a_unit_and_what_it_was_read_on(text: str, details: dict[str, Any]) -> None:
    """Bar and gauge unless said."""
    assert _given(*_at("seen above zero"), text) == details


@pytest.mark.parametrize(
    ("fact", "text", "words"),
    [
        ("seen above zero", "0 bar", "not above zero"),
        ("seen above zero", "ninety", "not a number"),
        ("seen above zero", "96 volt", "cannot be given"),
        ("seen to fall", "96 bar", "has not fallen"),
        ("zero", "3 bar", "is not zero"),
        ("zero", "0 bar transmitter", "never zero"),
        ("valve safe", "open", "stem mark must be seen at closed"),
        ("valve safe", "shut", "says no place"),
        ("valve safe", "block 12, A. Name", "two names"),
        ("proved dead", "24.1 0.0", "three readings"),
        ("proved dead", "0.0 0.0 0.0", "did not read the live source"),
        ("proved dead", "24 24 24", "not dead"),
        ("shut down", "y", "without looking"),
        ("shut down", "ok", "without looking"),
        ("shut down", "", "nothing was said"),
        ("process agreed", "-", "names nobody"),
    ],
)
def test_words_that_prove_nothing_are_refused(fact: str, text: str, words: str) -> None:
    """With what would."""
    with pytest.raises(EvidenceError, match=words):
        _given(*_at(fact), text)


def test_a_block_has_its_number_two_names_and_who_approved() -> None:
    """Safety rule R1."""
    details = _given(*_at("valve safe"), "block 12, J. Demoval, O. Sampleton, P. Exampler")
    assert details == {
        "how": "block",
        "number": "12",
        "names": ["J. Demoval", "O. Sampleton"],
        "authority": "P. Exampler",
    }


def test_the_meter_is_proved_live_dead_live() -> None:
    """Three readings, the unit left out or said."""
    details = {"live_before_v": 24.1, "dead_v": 0.0, "live_after_v": 24.2}
    assert _given(*_at("proved dead"), "24,1 0.0 24.2") == details
    assert _given(*_at("proved dead"), "24.1 V 0.0 V 24.2 V") == details


def test_five_minutes_without_a_rise_are_timed_by_the_record() -> None:
    """Not by what somebody says of it."""
    person, need = _at("no rise")
    with pytest.raises(EvidenceError, match="watch cylinder for 5 minutes"):
        _given(person, need, "0 bar")
    person.visit.wait(5.5)
    assert _given(person, need, "0 bar")["minutes"] >= 5.0


@pytest.mark.parametrize("text", ["y", "Yes.", "OK", "done", "checked!", "x", "  ", "-", "..."])
def test_ticks_state_nothing(text: str) -> None:
    """They can be said without looking."""
    assert not states_something(text)


@pytest.mark.parametrize("text", ["selector in OFF", "7", "closed", "Mara told"])
def test_words_state_something(text: str) -> None:
    """What is seen, or who was told."""
    assert states_something(text)

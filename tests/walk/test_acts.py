"""What a person may do at any moment."""

import pytest

from commission.job.bodies import EnergyBegun, EnergyLost, LeaveGiven, LeaveWithdrawn
from commission.walk import acts
from commission.walk.acts import ActError
from tests.walk.visits import OLLIE, TESS, Visit, good_person


def test_something_temporary_goes_on_and_comes_off() -> None:
    """With what, where, why; then a second person and a proof."""
    visit = Visit()
    visit.record(acts.temporary_on(visit.job, "jumper", "jumper ", "TB-3 4-5", "ESD loop held"))
    assert visit.job.temporary["T1"].is_on
    visit.record(acts.temporary_off(visit.job, "T1", OLLIE, "loop opens again", TESS))
    assert not visit.job.temporary["T1"].is_on


@pytest.mark.parametrize("part", [0, 1, 2])
def test_what_where_and_why_are_all_needed(part: int) -> None:
    """The most dangerous list of all has no gaps."""
    words = ["jumper", "TB-3", "ESD loop"]
    words[part] = " "
    with pytest.raises(ActError, match="a temporary thing needs"):
        acts.temporary_on(Visit().job, "jumper", *words)


def test_an_unknown_kind_is_refused_with_the_known_ones() -> None:
    """The kinds are the checklist's."""
    with pytest.raises(ActError, match="kinds are lock, bypass"):
        acts.temporary_on(Visit().job, "string", "a", "b", "c")


@pytest.mark.parametrize(
    ("item", "second", "proof", "words"),
    [
        ("T7", OLLIE, "tried", "not on the temporary list"),
        ("T1", "", "tried", "second person"),
        ("T1", OLLIE, " ", "what proves"),
        ("T1", "tess  placeholder", "tried", "cannot be the second person"),
    ],
)
def test_taking_off_needs_another_person_and_a_proof(item: str, second: str, proof: str, words: str) -> None:
    """One's own second person is nobody."""
    visit = Visit()
    visit.record(acts.temporary_on(visit.job, "jumper", "jumper", "TB-3", "test"))
    with pytest.raises(ActError, match=words):
        acts.temporary_off(visit.job, item, second, proof, TESS)


def test_an_adjustment_says_beforehand_what_it_will_void() -> None:
    """Only what has results."""
    person = good_person()
    person.walk_to("K4")
    job = person.visit.job
    assert acts.would_void(job, "needle") == ("K1", "K3")
    assert acts.would_void(job, "no such thing") == ()
    person.visit.record(acts.adjusted(job, "needle", "from 2 to 1¾ turns"))
    assert acts.would_void(person.visit.job, "needle") == ()


@pytest.mark.parametrize(("touched", "detail"), [("paint", "blue"), ("needle", "  ")])
def test_an_adjustment_is_in_the_table_and_says_what_was_done(touched: str, detail: str) -> None:
    """Else nobody can say what depends on it."""
    with pytest.raises(ActError):
        acts.adjusted(Visit().job, touched, detail)


def test_a_gas_alarm_takes_leave_back_and_makes_the_state_unknown() -> None:
    """And says to leave, not to unplug."""
    visit = Visit()
    assert acts.gas_alarm(visit.job) == (EnergyLost(reason="gas alarm"),)
    visit.record(LeaveGiven(test="K1 open 1", values={"command_open": (1,)}, until_ns=1))
    assert acts.gas_alarm(visit.job)[0] == LeaveWithdrawn(test="K1 open 1", reason="gas alarm")
    assert "Do not unplug" in acts.GAS_ALARM_WORDS


def test_a_crossing_is_abandoned_with_a_reason_and_leaves_the_state_unknown() -> None:
    """Half a crossing is no state."""
    person = good_person()
    person.walk_to("F2")
    visit = person.visit
    with pytest.raises(ActError, match="no crossing"):
        acts.abandon_crossing(visit.job, "rain")
    visit.record(EnergyBegun(target="control"))
    with pytest.raises(ActError, match="say why"):
        acts.abandon_crossing(visit.job, " ")
    assert acts.abandon_crossing(visit.job, "rain").reason == "the crossing to control was abandoned: rain"


def test_deviations_are_numbered_classed_and_accepted_once() -> None:
    """By the owner's side, by name."""
    visit = Visit()
    visit.record(acts.raise_deviation(visit.job, "K1", "10 s", "12 s", classed="A"))
    assert list(visit.job.deviations) == ["D1"]
    with pytest.raises(ActError, match="class A"):
        acts.raise_deviation(visit.job, "K1", "10 s", "12 s", classed="Z")
    with pytest.raises(ActError, match="what was found"):
        acts.raise_deviation(visit.job, "K1", "10 s", "")
    with pytest.raises(ActError, match="who of the owner's side"):
        acts.accept_deviation(visit.job, "D1", "Piet Exampler", "")
    visit.record(acts.accept_deviation(visit.job, "D1", "Piet Exampler", "needle ordered"))
    with pytest.raises(ActError, match="no deviation that waits"):
        acts.accept_deviation(visit.job, "D1", "Piet Exampler", "again")

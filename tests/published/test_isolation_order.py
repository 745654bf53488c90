"""
The order of lockout and of a test under lockout, against 29 CFR 1910.147 (d), (e) and (f)(1).

Source: Code of Federal Regulations, 2015 annual edition, public transcription (R), App. A and 1910.333(b)(2)(iv) with
it; that the wording is unchanged since is from memory (M). What is checked is the order of our table, not compliance.
"""

import pytest

from commission.energy import CROSSINGS, Crossing, EnergyState
from commission.energy.crossings import ISOLATION

LOCKED, CONTROL, LIVE = EnergyState.LOCKED, EnergyState.CONTROL, EnergyState.LIVE
TO_LOCKED = [way for way in CROSSINGS if way.target is LOCKED and way.source in (LIVE, EnergyState.IN_OPERATION)]


def _facts(way: Crossing) -> list[str]:
    return [stage.fact for stage in way.stages]


def _way(source: EnergyState, target: EnergyState) -> Crossing:
    return next(way for way in CROSSINGS if (way.source, way.target) == (source, target))


@pytest.mark.parametrize("way", TO_LOCKED, ids=lambda way: f"{way.source} to locked")
def test_d_the_sequence_of_applying_control_is_that_of_paragraph_d(way: Crossing) -> None:
    """(d)(1) knowledge, (2) shutdown, (3)-(4) devices located and locked, (5) stored energy, (6) verified."""
    facts = _facts(way)
    order = ["energies listed", "shut down", "locked", "zero", "no rise", "proved dead", "try-start failed"]
    places = [facts.index(fact) for fact in order]
    assert places == sorted(places)
    last_lock = len(facts) - 1 - facts[::-1].index("locked")
    assert last_lock < facts.index("zero"), "every device is locked before stored energy is called relieved, (d)(5)(i)"


def test_c9_affected_people_are_told_before_the_first_lock() -> None:
    """(c)(9): affected employees are notified before the controls are applied."""
    facts = [stage.fact for stage in ISOLATION]
    assert facts.index("affected people told") < facts.index("locked")


def test_d5ii_reaccumulation_is_watched_before_hands_go_in() -> None:
    """(d)(5)(ii): where stored energy may build up again verification goes on; each volume is watched for a rise."""
    stage = next(stage for stage in ISOLATION if stage.fact == "no rise")
    assert stage.clause == "(d)(5)(ii)"
    assert [stage.fact for stage in ISOLATION].index("zero") < [stage.fact for stage in ISOLATION].index("no rise")


def test_appendix_a_the_controls_go_back_to_neutral_after_the_try_start() -> None:
    """App. A: operate the normal controls, then return them to neutral."""
    facts = [stage.fact for stage in ISOLATION]
    assert facts[-2:] == ["try-start failed", "commands neutral"]


@pytest.mark.parametrize(("source", "target"), [(LOCKED, CONTROL), (CONTROL, LIVE)])
def test_f1_tools_people_locks_then_energy(source: EnergyState, target: EnergyState) -> None:
    """(f)(1)(i) clear tools, (ii) remove people, (iii) remove locks; (iv) energising is the crossing's own end."""
    facts = _facts(_way(source, target))
    places = [facts.index(fact) for fact in ("tools out", "people counted", "lock removed")]
    assert places == sorted(places)


@pytest.mark.parametrize(("source", "target"), [(LOCKED, CONTROL), (CONTROL, LIVE)])
def test_e2ii_affected_people_are_told_after_the_locks_are_off(source: EnergyState, target: EnergyState) -> None:
    """(e)(2)(ii): after removal and before start, affected employees are notified."""
    facts = _facts(_way(source, target))
    assert facts.index("lock removed") < facts.index("affected people told")


def test_f1v_after_energising_the_whole_of_d_is_walked_again() -> None:
    """(f)(1)(v): deenergize all systems and reapply energy control in accordance with paragraph (d)."""
    assert _way(LIVE, LOCKED).stages == ISOLATION


def test_live_is_not_reached_from_locked_in_one_step() -> None:
    """(f)(1)(iv) is unreachable unless (i), (ii) and (iii) were recorded: the table has no short cut."""
    assert not [way for way in CROSSINGS if way.source is LOCKED and way.target is LIVE]

"""Tests of the table of crossings itself."""

import pytest

from commission.energy import CROSSINGS, EnergyError, EnergyState, crossing
from commission.energy.crossings import ISOLATION, Subjects

ASKS = {"word", "reading", "lock", "count", "place", "names", "meter"}


def test_every_state_is_reached_and_left() -> None:
    """No state is a dead end, and none but unknown is unreachable in the table."""
    assert {way.source for way in CROSSINGS} == set(EnergyState)
    assert {way.target for way in CROSSINGS} == set(EnergyState) - {EnergyState.UNKNOWN}


def test_a_way_stands_once() -> None:
    """Two ways between the same states would leave open which is meant."""
    ends = [(way.source, way.target) for way in CROSSINGS]
    assert len(set(ends)) == len(ends)


def test_what_is_not_in_the_table_is_refused_with_where_one_may_go() -> None:
    """There is no way from locked to live but through control."""
    with pytest.raises(EnergyError, match="from locked to live; from locked one goes to pumping, control"):
        crossing(EnergyState.LOCKED, EnergyState.LIVE)
    assert crossing(EnergyState.LOCKED, EnergyState.CONTROL).target is EnergyState.CONTROL


@pytest.mark.parametrize("way", CROSSINGS, ids=lambda way: f"{way.source} to {way.target}")
def test_stages_can_be_shown_and_recorded(way: object) -> None:
    """Each stage has words, a known kind of evidence, and a place for its subject exactly where it has one."""
    for stage in getattr(way, "stages"):  # noqa: B009  # parametrised over the table
        assert stage.words
        assert stage.ask in ASKS
        assert ("{}" in stage.words) == (stage.subjects is not Subjects.ONCE), stage.words


@pytest.mark.parametrize("way", CROSSINGS, ids=lambda way: f"{way.source} to {way.target}")
def test_no_crossing_asks_the_same_twice(way: object) -> None:
    """A fact about the same subjects stands once in a crossing, or the second would be taken for done."""
    asked = [(stage.fact, stage.subjects) for stage in getattr(way, "stages")]  # noqa: B009  # as above
    assert len(set(asked)) == len(asked)


def test_people_are_counted_on_every_way_to_power() -> None:
    """Every crossing into control, live, pumping or operation counts people (29 CFR 1910.147(e)(2)(i); R)."""
    powered = [way for way in CROSSINGS if way.target is not EnergyState.LOCKED]
    assert all("people counted" in [stage.fact for stage in way.stages] for way in powered)


def test_r02_the_order_of_isolation_is_that_of_the_regulation() -> None:
    """First locks, pressure seen and let out, the other locks, then zero, no rise, dead, try-start, neutral."""
    facts = [stage.fact for stage in ISOLATION]
    assert facts == [
        "energies listed",
        "affected people told",
        "process agreed",
        "valve safe",
        "shut down",
        "locked",
        "seen above zero",
        "seen to fall",
        "locked",
        "zero",
        "still loaded",
        "no rise",
        "proved dead",
        "try-start failed",
        "commands neutral",
    ]


def test_r06_commands_are_neutral_before_control_and_after_a_try_start() -> None:
    """A try-start leaves a command behind; it is put back before anything is energised."""
    assert ISOLATION[-1].fact == "commands neutral"
    facts = [stage.fact for stage in crossing(EnergyState.LOCKED, EnergyState.CONTROL).stages]
    assert facts.index("commands neutral") < facts.index("lock removed")


def test_hands_go_in_only_where_it_is_locked() -> None:
    """Unknown counts as live for hands (safety rule R3)."""
    assert [state for state in EnergyState if state.hands_may_go_in] == [EnergyState.LOCKED]

"""Tests of the energy machine: no state without its evidence, nothing changed by an illegal act, no dead end."""

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from commission.energy import (
    CROSSINGS,
    Energy,
    EnergyError,
    EnergyState,
    Fact,
    accept,
    become_unknown,
    begin,
    control_is_off,
    crossing_now,
    enter,
    missing,
    needs,
)
from commission.sheet.model import FailEffect
from tests.energy.way import AT, OLLIE, TESS, at, collected, crossed, good, xv_1101

SHEET = xv_1101()
SOURCES = {source.id for source in SHEET.sources}
OFF_IN_CONTROL = {source.id for source in SHEET.sources if source.off_in_control}
STATES = [state for state in EnergyState if state is not EnergyState.UNKNOWN]


@pytest.mark.parametrize("state", STATES)
def test_every_state_is_reached_with_all_its_evidence(state: EnergyState) -> None:
    """Walking with good evidence leads there, says whose word it is, and leaves no crossing open."""
    energy = at(state)
    assert (energy.state, energy.by, energy.at_utc, energy.target, energy.reason) == (state, TESS, AT, None, "")


@pytest.mark.parametrize("way", CROSSINGS, ids=lambda way: f"{way.source} to {way.target}")
def test_a_crossing_with_one_fact_missing_is_not_entered(way: object) -> None:
    """At each point of the evidence the door stays shut, and the message names what comes first."""
    source, target = getattr(way, "source"), getattr(way, "target")  # noqa: B009  # parametrised over the table
    start = at(source) if source is not EnergyState.UNKNOWN else become_unknown(at(target), "a restart", AT)
    energy = begin(start, target)
    while open_needs := missing(energy, SHEET):
        with pytest.raises(EnergyError, match="yet: ") as refused:
            enter(energy, SHEET, TESS, AT)
        assert open_needs[0].words in str(refused.value)
        assert energy.state is source
        energy = accept(energy, SHEET, good(open_needs[0]))
    assert enter(energy, SHEET, TESS, AT).state is target


@pytest.mark.parametrize("way", CROSSINGS, ids=lambda way: f"{way.source} to {way.target}")
def test_a_later_stage_is_refused_before_an_earlier_one(way: object) -> None:
    """The order of the regulation cannot be skipped: what comes first is said."""
    source, target = getattr(way, "source"), getattr(way, "target")  # noqa: B009  # as above
    start = at(source) if source is not EnergyState.UNKNOWN else become_unknown(at(target), "a restart", AT)
    energy = begin(start, target)
    open_needs = missing(energy, SHEET)
    for need in open_needs:
        if need.stage > open_needs[0].stage:
            with pytest.raises(EnergyError, match="first: "):
                accept(energy, SHEET, good(need))


def test_r02_gauges_fall_with_control_on_and_read_zero_with_it_off() -> None:
    """Motor and heater first; control is locked only after every gauge was seen to fall."""
    energy = begin(at(EnergyState.IN_OPERATION), EnergyState.LOCKED)
    order = []
    while open_needs := missing(energy, SHEET):
        order.append((open_needs[0].fact, open_needs[0].subject, control_is_off(energy, SHEET)))
        energy = accept(energy, SHEET, good(open_needs[0]))
    for fact, _, off in order:
        if fact in ("seen above zero", "seen to fall"):
            assert not off
        if fact in ("zero", "no rise"):
            assert off
    assert order.index(("locked", "motor", False)) < order.index(("seen above zero", "cylinder", False))


def test_r01_a_fail_position_that_disturbs_the_process_is_agreed_first() -> None:
    """Where going there shuts in or vents, permission is asked for; where it does neither, it is not."""
    energy = begin(at(EnergyState.IN_OPERATION), EnergyState.LOCKED)
    facts = [need.fact for need in needs(energy, SHEET)]
    assert facts.index("process agreed") < facts.index("valve safe")
    quiet = msgspec.structs.replace(
        SHEET, actuator=msgspec.structs.replace(SHEET.actuator, fail_effect=FailEffect.NONE)
    )
    assert "process agreed" not in [need.fact for need in needs(energy, quiet)]


def test_r02_nitrogen_and_spring_are_said_to_be_loaded() -> None:
    """What cannot be let out is named aloud, one by one."""
    energy = begin(at(EnergyState.IN_OPERATION), EnergyState.LOCKED)
    loaded = [need.subject for need in needs(energy, SHEET) if need.fact == "still loaded"]
    assert loaded == ["nitrogen", "spring"]


@pytest.mark.parametrize(
    ("state", "on"),
    [
        (EnergyState.LOCKED, SOURCES),
        (EnergyState.PUMPING, SOURCES),
        (EnergyState.CONTROL, OFF_IN_CONTROL),
        (EnergyState.LIVE, set()),
        (EnergyState.IN_OPERATION, set()),
    ],
)
def test_locks_agree_with_the_state(state: EnergyState, on: set[str]) -> None:
    """Locked has every lock on, control those of the sheet, live none."""
    assert set(at(state).locks) == on


def test_nobody_removes_anothers_lock() -> None:
    """Only who applied it takes it off (29 CFR 1910.147(e)(3); R); refused, nothing changes."""
    energy = begin(at(EnergyState.LOCKED), EnergyState.CONTROL)
    while missing(energy, SHEET)[0].fact != "lock removed":
        energy = accept(energy, SHEET, good(missing(energy, SHEET)[0]))
    with pytest.raises(EnergyError, match="only Tess Placeholder removes it"):
        accept(energy, SHEET, good(missing(energy, SHEET)[0], OLLIE))
    assert set(energy.locks) == SOURCES


def test_a_lock_that_is_on_stays_its_owners() -> None:
    """An isolation taken up again does not ask for, and does not overwrite, a lock that somebody has on."""
    energy = begin(at(EnergyState.IN_OPERATION), EnergyState.LOCKED)
    while not energy.locks:
        energy = accept(energy, SHEET, good(missing(energy, SHEET)[0], OLLIE))
    again = begin(become_unknown(energy, "a restart", AT), EnergyState.LOCKED)
    assert ("locked", "motor") not in [(need.fact, need.subject) for need in needs(again, SHEET)]
    whole = enter(collected(again, SHEET), SHEET, TESS, AT)
    assert (whole.locks["motor"].by, whole.locks["control"].by) == (OLLIE, TESS)


def test_once_a_lock_is_off_the_crossing_is_not_left_for_another() -> None:
    """Locked with a lock off would be no lockout: finish, or be unknown; no hands meanwhile."""
    start = at(EnergyState.LOCKED)
    assert start.hands_may_go_in
    energy = begin(start, EnergyState.CONTROL)
    assert not energy.hands_may_go_in
    energy = begin(energy, EnergyState.PUMPING)  # no lock is off yet
    energy = begin(energy, EnergyState.CONTROL)
    while not any(fact.fact == "lock removed" for fact in energy.facts):
        energy = accept(energy, SHEET, good(missing(energy, SHEET)[0]))
    for target in (EnergyState.PUMPING, EnergyState.CONTROL):
        with pytest.raises(EnergyError, match="a lock is off already on the way to control"):
            begin(energy, target)
    unknown = become_unknown(energy, "given up", AT)
    assert crossed(unknown, EnergyState.LOCKED).state is EnergyState.LOCKED


def test_r03_unknown_keeps_locks_and_forgets_evidence() -> None:
    """After a restart locks stay on the list, to be looked at; evidence collected so far is void."""
    energy = become_unknown(collected(begin(at(EnergyState.LOCKED), EnergyState.PUMPING), SHEET), "a restart", AT)
    assert (energy.state, energy.target, energy.facts, energy.reason) == (EnergyState.UNKNOWN, None, (), "a restart")
    assert set(energy.locks) == SOURCES
    assert not energy.hands_may_go_in


@pytest.mark.parametrize("state", STATES)
def test_r03_unknown_leads_back_to_where_evidence_had_led(state: EnergyState) -> None:
    """After a restart there is a way back to locked, and to control, live and operation where that was the state."""
    energy = become_unknown(at(state), "a restart", AT)
    assert crossed(energy, EnergyState.LOCKED).state is EnergyState.LOCKED
    if state in (EnergyState.CONTROL, EnergyState.LIVE, EnergyState.IN_OPERATION):
        assert crossed(energy, state).state is state


def test_r03_control_is_not_looked_at_again_where_it_was_not() -> None:
    """A new job does not begin in control."""
    with pytest.raises(EnergyError, match="control is entered from locked"):
        begin(Energy(), EnergyState.CONTROL)
    assert (
        crossing_now(Energy(), EnergyState.LOCKED).stages
        != crossing_now(become_unknown(at(EnergyState.LOCKED), "a restart", AT), EnergyState.LOCKED).stages
    )


def test_the_count_of_people_is_kept_with_its_time() -> None:
    """The last count stays in sight until the next."""
    energy = at(EnergyState.LIVE)
    assert (energy.people, energy.counted_utc) == (4, AT)


def test_a_fact_without_a_crossing_proves_nothing() -> None:
    """Evidence belongs to a crossing; facts that it does not need are refused."""
    with pytest.raises(EnergyError, match="no crossing is under way"):
        accept(Energy(), SHEET, Fact("shut down", "", TESS, AT, {}))
    with pytest.raises(EnergyError, match="no crossing is under way"):
        enter(Energy(), SHEET, TESS, AT)
    with pytest.raises(EnergyError, match="is not needed to reach in operation"):
        accept(begin(Energy(), EnergyState.IN_OPERATION), SHEET, Fact("shut down", "", TESS, AT, {}))
    assert needs(Energy(), SHEET) == ()


facts = st.builds(
    Fact,
    st.sampled_from(sorted({stage.fact for way in CROSSINGS for stage in way.stages})),
    st.sampled_from(["", *sorted(SOURCES), *[volume.id for volume in SHEET.volumes], "nothing"]),
    st.sampled_from([TESS, OLLIE, ""]),
    st.just(AT),
    st.dictionaries(
        st.sampled_from(["number", "count", "text", "bar", "read_on", "minutes", "how", "stem_mark"]),
        st.sampled_from([0, 4, 104.0, "L-07", "gauge", "transmitter", "fail position", "closed", None, float("nan")]),
    ),
)


class AnyVisit(RuleBasedStateMachine):
    """Acts in any order, good and bad: whatever happens, evidence, locks and generation agree with the state."""

    def __init__(self) -> None:
        super().__init__()
        self.energy = Energy()

    @initialize(state=st.sampled_from(list(EnergyState)))
    def start(self, state: EnergyState) -> None:
        """Begin anywhere that evidence leads to."""
        self.energy = at(state)

    def act(self, made: Energy) -> None:
        """Take the next value; each energy or lock act makes leave given before stale."""
        assert made.generation > self.energy.generation
        self.energy = made

    @rule(target_state=st.sampled_from(list(EnergyState)))
    def begin_a_crossing(self, target_state: EnergyState) -> None:
        """Begin any crossing, legal or not."""
        before = msgspec.json.encode(self.energy)
        try:
            self.act(begin(self.energy, target_state))
        except EnergyError:
            assert msgspec.json.encode(self.energy) == before

    @rule(fact=facts)
    def offer_anything(self, fact: Fact) -> None:
        """Offer a random fact; a refused one changes nothing, a taken one was wanted now and no later."""
        before = msgspec.json.encode(self.energy)
        wanted = missing(self.energy, SHEET)
        try:
            made = accept(self.energy, SHEET, fact)
        except EnergyError:
            assert msgspec.json.encode(self.energy) == before
        else:
            stage = next(need.stage for need in wanted if (need.fact, need.subject) == (fact.fact, fact.subject))
            assert stage == wanted[0].stage
            self.act(made)

    @rule(by=st.sampled_from([TESS, TESS, TESS, OLLIE]), how_many=st.integers(min_value=1, max_value=12))
    def offer_what_is_needed(self, by: str, how_many: int) -> None:
        """Offer good evidence for what comes next."""
        for need in missing(self.energy, SHEET)[:how_many]:
            try:
                self.act(accept(self.energy, SHEET, good(need, by)))
            except EnergyError as error:
                assert "removes it" in str(error)  # noqa: PT017  # only another's lock may refuse good evidence

    @rule()
    def pass_through(self) -> None:
        """Try the door."""
        target, open_needs = self.energy.target, missing(self.energy, SHEET)
        try:
            made = enter(self.energy, SHEET, TESS, AT)
        except EnergyError:
            return
        assert target is not None
        assert not open_needs
        assert made.state is target
        self.act(made)

    @rule()
    def lose_it(self) -> None:
        """A restart, a gap, a gas alarm."""
        self.act(become_unknown(self.energy, "a restart", AT))

    @invariant()
    def locked_means_every_lock_is_on(self) -> None:
        """Where hands may go in, no lock is missing."""
        if self.energy.hands_may_go_in:
            assert set(self.energy.locks) == SOURCES

    @invariant()
    def no_power_past_a_lock(self) -> None:
        """Live and in operation have no lock on, unless a crossing under way has put one on."""
        if self.energy.state in (EnergyState.LIVE, EnergyState.IN_OPERATION) and self.energy.target is None:
            assert not self.energy.locks

    @invariant()
    def there_is_a_way_to_locked(self) -> None:
        """From wherever the unit stands, making it unknown and isolating it by the owners of the locks is possible."""
        lost = become_unknown(self.energy, "a restart", AT)
        assert crossed(lost, EnergyState.LOCKED).state is EnergyState.LOCKED


TestAnyVisit = AnyVisit.TestCase
TestAnyVisit.settings = settings(max_examples=40, stateful_step_count=25)


@given(st.lists(facts, max_size=15), st.sampled_from(STATES))
def test_random_facts_never_open_a_door(offered: list[Fact], target: EnergyState) -> None:
    """Facts drawn at random lead from a new job into no state at all."""
    try:
        energy = begin(Energy(), target)
    except EnergyError:
        return
    for fact in offered:
        try:
            energy = accept(energy, SHEET, fact)
        except EnergyError:
            continue
    if missing(energy, SHEET):
        with pytest.raises(EnergyError):
            enter(energy, SHEET, TESS, AT)

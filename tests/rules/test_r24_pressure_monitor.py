"""Safety rule R24: what allows a trip first, delay before trip point, small held steps, and the block put back."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.analysis.trip import HELD, STEP_SHARE, Side, trip_set
from commission.analysis.trip_found import FoundSeen
from commission.analysis.trip_point import TripPointSeen, why_no_test
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.monitor_points import monitor_back
from commission.procedures.requests import Ask, Begin, Command, Note, Reply, Watch
from commission.procedures.trip_found import trip_found
from commission.procedures.trip_point import trip_point
from commission.walk.movement import WATCHES_MONITOR
from tests.analysis.monitors import stretch
from tests.procedures.monitored import GAUGE, Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101
from tests.walk.visits import Visit, good_person

SHEET = xv_1101()
HIGH = trip_set(SHEET, Side.HIGH)


def away_from_its_trip_position(*said: str) -> Monitored:
    """The valve is open; this is what is said to what makes a trip allowed."""
    unit = Monitored()
    unit.bits.update(open_limit=1.0, closed_limit=0.0)
    unit.said = {"ready": list(said), "root shut": ["HV-1101-7"]}
    return unit


def test_r24_in_the_trip_position_nothing_more_is_asked() -> None:
    """By the limit that the unit itself shows."""
    unit = Monitored()
    unit.said = {"root shut": ["HV-1101-7"]}
    seen, _ = play(trip_found(SHEET, {}), unit)
    assert isinstance(seen, FoundSeen)
    assert "trip position" in seen.ready
    assert not any("NOT at its trip position" in text for text in unit.asked)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("inhibit; P. Exampler; control room shows INHIBIT ON at 15:02", "approved by P. Exampler"),
        ("wanted; Mara Mockford", "go by Mara Mockford"),
    ],
)
def test_r24_elsewhere_an_inhibit_proved_on_or_the_controllers_go(said: str, words: str) -> None:
    """Said before the root valve is shut, kept with the run."""
    unit = away_from_its_trip_position(said)
    seen, _ = play(trip_found(SHEET, {}), unit)
    assert isinstance(seen, FoundSeen)
    assert words in seen.ready
    order = [text for text in unit.asked if "NOT at its" in text or "root valve" in text or "Vent the" in text]
    assert "NOT at its" in order[0]
    assert "root valve" in order[1]
    assert "Vent the" in order[2]


@pytest.mark.parametrize(
    "said", ["no", "cannot", "inhibit", "inhibit; P. Exampler", "wanted", "wanted; ", "it is fine"]
)
def test_r24_without_one_of_the_three_neither_root_valve_nor_vent_is_touched(said: str) -> None:
    """An inhibit that nobody proved on is none; what is none of the three is asked again."""
    unit = away_from_its_trip_position(said, "no")
    seen, _ = play(trip_found(SHEET, {}), unit)
    assert isinstance(seen, FoundSeen)
    assert seen.seen == ()
    assert seen.why
    assert not any("root valve" in text or "Vent" in text for text in unit.asked)


@pytest.mark.parametrize("name", sorted(WATCHES_MONITOR))
def test_r24_no_test_of_the_monitor_sends_anything(name: str) -> None:
    """After a trip the valve is somebody else's (R10)."""
    arguments = {"trip": "high", "direction": "closed", "gauge": GAUGE, "test": "O 1"}
    begun = next(CATALOGUE[name].start(SHEET, arguments))
    assert isinstance(begun, Begin)
    assert begun.commands == ()
    assert begun.safe_command is None


def test_r24_the_delay_comes_before_the_trip_point_in_the_checklist() -> None:
    """O3 and O4: a staircase is held by the delay, so the delay is known first."""
    for step_id in ("O3", "O4"):
        names = [use.name for use in Visit().job.checklist.step(step_id).procedures]
        assert names == ["trip_delay", "trip_point"]


@settings(max_examples=25, deadline=None)
@given(st.floats(0.02, 1.5), st.floats(1.0, 9.0))
def test_r24_a_step_larger_than_a_fifth_or_shorter_than_twice_the_delay_never_counts(step: float, held: float) -> None:
    """Whatever the step and however long it is held: what counts was small and held."""
    begins = 70.0 - 30 * step
    trip_s = 30 * held + HIGH.delay_s

    def pressure(at_s: float) -> float:
        return begins + step * min(30, at_s // held)

    seen = stretch(pressure, trip_s + 0.15, trip_s=trip_s, first_s=trip_s - 6.05)
    changed = abs(pressure(trip_s) - pressure(trip_s - 5.8))
    if changed > HIGH.tolerance_pa / 1e5 / STEP_SHARE * 1.001:
        assert why_no_test(seen, HIGH)
    elif step <= 0.199 and held >= HELD * HIGH.delay_s + 0.2:
        assert why_no_test(seen, HIGH) == ""


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(-0.3, 1.0), min_size=1, max_size=6), st.integers(0, 10_000))
def test_r24_however_clumsy_the_hand_what_counts_was_small_and_held(slips: list[float], seed: int) -> None:
    """Three approaches that count, or an end that says why; every trip out of the rule is listed as no test."""
    unit = Monitored(seed=seed)
    off = itertools.cycle([*slips, 0.0, 0.0, 0.0])
    unit.hands["to"] = lambda ask: unit.go((ask.target or 0.0) + (next(off) if (ask.target or 0.0) > 65 else 0.0))
    seen, _ = play(trip_point(SHEET, {"trip": "high", "gauge": GAUGE}), unit)
    assert isinstance(seen, TripPointSeen)
    assert all(why_no_test(one.seen, HIGH) == "" for one in seen.approaches)
    assert len(seen.approaches) == 3 or seen.why
    assert sum(note.startswith("NO TEST") for note in unit.notes) == len(seen.no_tests)


def test_r24_the_block_is_not_concluded_before_it_is_put_back() -> None:
    """O7 needs every test; its runs count only where monitor and gauge were equal; the walk cannot sign without it."""
    step = Visit().job.checklist.step("O7")
    assert {"O1", "O3", "O4", "O5"} <= set(step.needs)
    assert [use.name for use in step.procedures] == ["monitor_back"]
    off = {question.about for question in step.questions if question.effect == "temporary off"}
    assert off == {"vent", "root-valve", "inhibit"}
    assert [question.about for question in step.questions if question.asked == "after"] == ["inhibit"]


def test_r24_put_back_asks_for_the_seal_and_a_second_person_before_it_compares() -> None:
    """In this order."""
    procedure = monitor_back(SHEET, {"gauge": GAUGE})
    unit, asked = Monitored(), []
    unit.said = {"sealed": ["S-1; Tess"], "second": ["Ollie"]}
    reply: Reply = None
    for _ in range(1000):
        try:
            request = procedure.send(reply)
        except StopIteration:
            break
        assert not isinstance(request, Command)
        if isinstance(request, Ask):
            asked.append(request.id)
        reply = unit.sample() if isinstance(request, Watch) else unit.ask(request) if isinstance(request, Ask) else None
        assert isinstance(request, Watch | Ask | Begin | Note)
    assert asked == ["sealed", "second", "gauge"]


def test_r24_root_valve_and_vent_stand_on_the_temporary_list_before_they_are_touched() -> None:
    """And block signing until they are off it, with a second person."""
    person = good_person()
    person.script |= {"O1.root": "HV-1101-7; sensing line; to test", "O1.vent": "vent; sensing line; to test"}
    person.walk_step(person.walk_to("O1"))
    kinds = {item.added.kind for item in person.visit.job.temporary.values() if item.is_on}
    assert {"root-valve", "vent"} <= kinds
    person.walk_step(person.walk_to("O7"))
    on = {item.added.kind for item in person.visit.job.temporary.values() if item.is_on}
    assert not on & {"root-valve", "vent", "inhibit"}

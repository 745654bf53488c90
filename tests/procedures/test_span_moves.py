"""How the valve comes to a point: a key for every move, a stop after every move, hands-free where people bring it."""

import msgspec
import pytest

from commission.analysis.span import SpanEnd
from commission.procedures.requests import Ask, Begin, Command, CommandValue, Procedure, SafeEnd
from commission.procedures.settling import STILL_TRAVEL, Settling
from commission.procedures.span_moves import ARRIVES_WITHIN_S, GO, BroughtByPeople, MovedFromHere, Way
from commission.procedures.span_plan import Leg
from commission.sheet import End
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

HALF = Leg(50.0, up=True, cycle=1)


def _coming(way: Way, seen: Settling, *legs: Leg) -> Procedure[list[SpanEnd | None]]:
    """A procedure that only comes to points."""
    yield Begin("moves", (), SafeEnd.SEND_NOTHING, None, {}, (), 1.0)
    yield from seen.watch_for(1.0)
    ended: list[SpanEnd | None] = []
    for leg in legs:
        found = yield from way.come_to(leg)
        ended.append(found)
    return ended


def _from_here(valve: HeldValve, *legs: Leg) -> list[SpanEnd | None]:
    seen = Settling({"travel": STILL_TRAVEL})
    ended, _ = play(_coming(MovedFromHere(xv_1101(), End.OPEN, seen), seen, *legs), valve)
    assert isinstance(ended, list)
    return ended


def test_every_move_is_asked_for_and_ended_by_a_stop() -> None:
    """One key, one open, one stop."""
    valve = HeldValve()
    assert _from_here(valve, HALF) == [None]
    assert valve.commands == ["command_open", "command_stop"]
    assert valve.asked == ["Hands and tools out of the yoke? The valve goes on to 50 % up."]
    assert valve.travel == pytest.approx(0.5, abs=0.01)


def test_three_seconds_are_counted_and_any_key_cancels() -> None:
    """R13: nothing is sent then, and the go is asked for again."""
    valve = HeldValve()
    valve.interrupts["cancel"] = 1
    assert _from_here(valve, HALF) == [None]
    assert valve.notes.count("moves in 1 s") == 1
    assert valve.notes.count("moves in 3 s") == 2
    assert "cancelled: the valve stays where it is" in valve.notes
    assert len(valve.asked) == 2
    assert valve.commands == ["command_open", "command_stop"]


def test_a_point_where_it_stands_asks_for_nothing() -> None:
    """Nothing moves to 0 % from the closed end."""
    valve = HeldValve()
    assert _from_here(valve, Leg(0.0, up=True, cycle=1)) == [None]
    assert (valve.commands, valve.asked) == ([], [])


def test_a_lost_sample_before_a_move_does_not_end_it() -> None:
    """A silence says nothing of where the valve is: the next reading is waited for."""
    valve = HeldValve()
    valve.silent_from = 11
    assert _from_here(valve, HALF) == [None]
    assert valve.travel == pytest.approx(0.5, abs=0.01)


def test_no_move_more_than_ten_minutes_after_the_last() -> None:
    """R13: it is confirmed in full again then, so the run ends; nothing was sent."""
    valve = HeldValve()
    valve.thinking_s = 605.0
    assert _from_here(valve, HALF) == [SpanEnd.TOO_LONG]
    assert valve.commands == []


def test_a_refused_move_ends_it() -> None:
    """The unit says no."""
    valve = HeldValve()
    valve.refuses = True
    assert _from_here(valve, HALF) == [SpanEnd.REFUSED]


def test_a_valve_that_does_not_start_is_stopped() -> None:
    """An open that moved nothing within ten seconds is taken back."""
    valve = HeldValve()
    valve.stuck = True
    assert _from_here(valve, HALF) == [SpanEnd.NOT_REACHED]
    assert valve.commands == ["command_open", "command_stop"]


def test_a_valve_that_starts_and_hangs_is_stopped() -> None:
    """Within the unit's own time-out for travel."""
    valve = HeldValve(opens_per_s=0.001)
    assert _from_here(valve, HALF) == [SpanEnd.NOT_REACHED]
    assert valve.commands[-1] == "command_stop"


def test_a_unit_without_stop_is_not_moved_to_points() -> None:
    """Named, before anything is asked."""
    points = tuple(point for point in xv_1101().points if point.role != "command_stop")
    sheet = msgspec.structs.replace(xv_1101(), points=points)
    with pytest.raises(ValueError, match="command_stop"):
        MovedFromHere(sheet, End.OPEN, Settling({}))


def test_the_commands_are_the_sheets() -> None:
    """Open, or close for a unit that fails open."""
    ways = [MovedFromHere(xv_1101(), end, Settling({})).commands for end in (End.OPEN, End.CLOSED)]
    assert ways[0] == (CommandValue("command_open"), CommandValue("command_stop"))
    assert ways[1][0] == CommandValue("command_close")


def _brought(valve: HeldValve, *legs: Leg) -> list[SpanEnd | None]:
    seen = Settling({"travel": STILL_TRAVEL})
    ended, _ = play(_coming(BroughtByPeople(seen), seen, *legs), valve)
    assert isinstance(ended, list)
    return ended


def test_brought_by_people_nothing_is_asked_and_nothing_sent() -> None:
    """It is seen to stand at the point."""
    valve = HeldValve()
    valve.people = lambda at_s: min(0.5, at_s / 60)
    assert _brought(valve, HALF) == [None]
    assert (valve.commands, valve.asked) == ([], [])
    assert valve.travel == pytest.approx(0.5)


def test_where_the_units_own_travel_is_wrong_standing_still_is_enough() -> None:
    """Somewhere else than before, for twenty seconds: then people are asked all the same."""
    valve = HeldValve()
    valve.people = lambda at_s: 0.0 if at_s < 30 else 0.38
    assert _brought(valve, Leg(0.0, up=True, cycle=1), HALF) == [None, None]
    assert "it stands still where its own travel reads 38.0 %" in valve.notes


def test_nobody_brings_it() -> None:
    """After half an hour it ends."""
    valve = HeldValve()
    valve.people = lambda _at_s: 0.0
    assert _brought(valve, Leg(0.0, up=True, cycle=1), HALF) == [None, SpanEnd.NOT_REACHED]
    assert ARRIVES_WITHIN_S == 1800.0


def test_the_question_is_of_the_kind_that_takes_one_key() -> None:
    """Faces show it with a countdown."""
    seen = Settling({"travel": STILL_TRAVEL})
    coming = _coming(MovedFromHere(xv_1101(), End.OPEN, seen), seen, HALF)
    valve = HeldValve()
    request = coming.send(None)
    while not isinstance(request, Ask):
        assert not isinstance(request, Command)
        request = coming.send(None if isinstance(request, Begin) else valve.sample())
    assert (request.id, request.kind) == (GO, "go")
    coming.close()

"""Safety rule R13 within a span test, where one confirmed run moves the valve several times."""

import itertools
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.analysis.span import SpanEnd
from commission.procedures.requests import Ask, Begin, Command, Note, Procedure, Reply, Request, Watch
from commission.procedures.span import span
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

ARGUMENTS = {"moved_by": "laptop", "meter_accuracy": "0.02 mA", "stem_step": "0.5", "test": "M1 1"}


def _requests(valve: HeldValve, points: str = "0 50 100") -> list[Request]:
    """Everything that the run asked for, in order."""
    found: list[Request] = []
    play(_kept(span(xv_1101(), {**ARGUMENTS, "points": points}), found), valve)
    return found


def _kept(procedure: Procedure[Any], found: list[Request]) -> Procedure[Any]:
    """The same procedure, each of its requests kept."""
    reply: Reply = None
    while True:
        try:
            request = procedure.send(reply)
        except StopIteration as done:
            return done.value
        found.append(request)
        reply = yield request


def _moves(found: list[Request]) -> list[int]:
    return [place for place, request in enumerate(found) if isinstance(request, Command) and "stop" not in request.role]


def test_r13_every_move_has_its_own_go_and_an_audible_countdown() -> None:
    """Between two moves somebody says go, and three seconds are counted aloud directly before it moves."""
    found = _requests(HeldValve())
    moves = _moves(found)
    assert len(moves) == 2
    for before, move in itertools.pairwise([0, *moves]):
        gos = [place for place in range(before, move) if isinstance(found[place], Ask) and found[place].kind == "go"]  # type: ignore[union-attr]  # an Ask
        assert len(gos) == 1
        loud = [request for request in found[gos[0] : move] if isinstance(request, Note) and request.loud]
        assert [request.mark for request in loud] == ["moves in 3 s", "moves in 2 s", "moves in 1 s"]
        assert all(
            isinstance(request, Note) or (isinstance(request, Watch) and request.asking is not None)
            for request in found[gos[0] + 1 : move]
        )


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 4))
def test_r13_any_key_in_the_countdown_sends_nothing(keys: int) -> None:
    """However often: the go is asked for again, and only a whole countdown moves it."""
    valve = HeldValve()
    valve.interrupts["cancel"] = keys
    found = _requests(valve, "0 6")
    assert len(_moves(found)) == 1
    assert sum(isinstance(request, Ask) and request.kind == "go" for request in found) == keys + 1


@pytest.mark.parametrize(("thinking_s", "ended"), [(100.0, SpanEnd.DONE), (290.0, SpanEnd.TOO_LONG)])
def test_r13_more_than_ten_minutes_after_the_last_movement_it_is_confirmed_anew(
    thinking_s: float, ended: SpanEnd
) -> None:
    """Stem, meter and go each take this long: the run ends, so that the next one is confirmed in full."""
    valve = HeldValve()
    valve.thinking_s = thinking_s
    found = _requests(valve)
    notes = [request.mark for request in found if isinstance(request, Note)]
    assert (SpanEnd.TOO_LONG.value in " ".join(notes)) is (ended is SpanEnd.TOO_LONG)
    assert len(_moves(found)) == (2 if ended is SpanEnd.DONE else 0)


def test_r13_the_other_direction_is_never_part_of_it() -> None:
    """What may be commanded is named at the beginning: one direction, and stop."""
    begun = _requests(HeldValve())[0]
    assert isinstance(begun, Begin)
    assert [command.role for command in begun.commands] == ["command_open", "command_stop"]

"""A stroke that somebody else commands, played out: nothing is sent from here (safety rule R19)."""

import random
from collections.abc import Iterator

import msgspec
import pytest

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.content import checklists_folder
from commission.procedures.full_stroke import full_stroke
from commission.procedures.requests import Begin, Note, SafeEnd, Watch
from commission.procedures.watched_stroke import BEGINS_WITHIN_S, watched_stroke
from commission.sheet import End, load_sheet
from commission.sheet.decode import Readings
from tests.analysis.seen import SHEET
from tests.procedures.playbook import Playbook
from tests.procedures.strokes import Line, Stroke, samples

CLOSING = Stroke(opening=False, command_s=3.0, moving_s=7.6, bend=0.1, last_s=40.0)
WHO = "control room"


def seen(stroke: Stroke) -> Iterator[Readings]:
    """Its samples."""
    return samples(stroke, Line(noise=0.0003), random.Random(1))


def played() -> Playbook[StrokeObserved]:
    """A watched closing stroke, begun."""
    return Playbook(watched_stroke(SHEET, End.CLOSED, "K1 closed 1", WHO)) << Begin


def test_r11_nothing_may_be_sent_and_nothing_here_stops_it() -> None:
    """No commands, no guards, send nothing: agreed before the first sample."""
    begun = next(watched_stroke(SHEET, End.CLOSED, "K1 closed 1", WHO))
    assert isinstance(begun, Begin)
    assert (begun.commands, begun.safe_command, dict(begun.guards)) == ((), None, {})
    assert begun.safe_end is SafeEnd.SEND_NOTHING
    assert "travel" in begun.roles or "closed_limit" in begun.roles


def test_r19_a_watched_stroke_names_who_commanded_it() -> None:
    """Waited for, seen to leave and to come home; its beginning is what was seen, not a command of ours."""
    book = played()
    stream = seen(CLOSING)
    book.feed(stream) << Note(f"waiting for {WHO}")
    book.feed(stream) << Note("moving")
    observed = book.feed(stream).returned()
    assert observed.ended is StrokeEnd.HOME
    assert observed.commanded_by == WHO
    assert all(isinstance(request, Begin | Watch | Note) for request in book.requests)


def test_nobody_commands_it() -> None:
    """After the time there is for it, it is no motion, with how long was waited."""
    standing = msgspec.structs.replace(CLOSING, command_s=1e6, last_s=BEGINS_WITHIN_S + 20)
    book = played()
    stream = seen(standing)
    book.feed(stream) << Note(f"waiting for {WHO}")
    observed = book.feed(stream).returned()
    assert observed.ended is StrokeEnd.NO_MOTION
    assert f"{BEGINS_WITHIN_S:g} s" in observed.why


def test_a_valve_that_is_home_already_is_not_ready() -> None:
    """Said as a note, and nothing is waited for."""
    opened = msgspec.structs.replace(CLOSING, opening=True, command_s=1e6, last_s=20.0)
    book = played()
    book.feed(seen(opened)) << Note("the closed limit is made already")
    assert book.returned().ended is StrokeEnd.NOT_READY


@pytest.mark.parametrize("direction", list(End))
def test_the_longest_run_covers_waiting_and_the_units_own_time_out(direction: End) -> None:
    """Leave and permit are compared with it."""
    begun = next(watched_stroke(SHEET, direction, "K1", WHO))
    assert isinstance(begun, Begin)
    assert begun.longest_s > BEGINS_WITHIN_S


def test_a_unit_without_commands_can_be_watched() -> None:
    """FCV-2204 follows its signal: nothing here commands it to an end, and its strokes are timed all the same."""
    sheet = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
    assert isinstance(next(watched_stroke(sheet, End.OPEN, "K1-watched open 1", "panel")), Begin)
    with pytest.raises(ValueError, match="needs a point for command_open"):
        next(full_stroke(sheet, End.OPEN, "K1 open 1"))

"""K1 played out: what it asks for, in which order, and what it makes of every way a stroke can go."""

import random
from collections.abc import Iterator

import msgspec
import pytest

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.timing import stroke_figures
from commission.procedures.full_stroke import full_stroke, safe_end
from commission.procedures.requests import Begin, Command, CommandValue, Note, Reply, Request, SafeEnd, Sent, Watch
from commission.sample import Outcome, Silence
from commission.sheet import End
from commission.sheet.decode import Readings
from tests.analysis.seen import SHEET
from tests.procedures.playbook import Playbook
from tests.procedures.strokes import Line, Stroke, samples, with_gap

CLOSING = Stroke(opening=False, command_s=1.3, moving_s=7.6, bend=0.1, last_s=40.0)
OPENING = Stroke(opening=True, command_s=1.3, moving_s=20.0, last_s=60.0)
LINE = Line(noise=0.0003)


def sent(stroke: Stroke, outcome: Outcome = Outcome.ANSWERED, reason: str = "") -> Sent:
    """The command at its true time."""
    role = "command_open" if stroke.opening else "command_close"
    return Sent(role, 1, round(stroke.command_s * 1e9), 5_000_000, outcome, reason)


def seen(stroke: Stroke, seed: int = 1) -> Iterator[Readings]:
    """Its samples."""
    return samples(stroke, LINE, random.Random(seed))


def played(stroke: Stroke) -> Playbook[StrokeObserved]:
    """A stroke up to the end of the first watching."""
    end = End.OPEN if stroke.opening else End.CLOSED
    return Playbook(full_stroke(SHEET, end, f"K1 {end} 1"))


def test_a_healthy_closing_stroke_reads_like_the_instruction() -> None:
    """Begin, watch, command, moving, watch, return: and the time that comes out is the true one."""
    stream = seen(CLOSING)
    book = played(CLOSING) << Begin
    book.feed(stream) << Command("command_close") >> sent(CLOSING)
    book.feed(stream) << Note("moving")
    observed = book.feed(stream).returned()
    assert observed.ended is StrokeEnd.HOME
    assert observed.test == "K1 closed 1"
    response = stroke_figures(observed, SHEET)[0]
    assert response.name == "response_time"
    assert abs(response.unrounded - (CLOSING.home_s - CLOSING.command_s)) <= float(response.expanded_uncertainty)


def test_begin_names_everything_that_may_be_sent() -> None:
    """Commands, safe end, guards, points and the longest run are agreed before anything is sent."""
    book = played(CLOSING) << Begin
    begun = book.requests[0]
    assert isinstance(begun, Begin)
    assert begun.commands == (CommandValue("command_close", 1),)
    assert (begun.safe_end, begun.safe_command) == (SafeEnd.STOP, CommandValue("command_stop", 1))
    assert {"travel", "open_limit", "closed_limit", "remote", "esd_healthy"} <= set(begun.roles)
    assert begun.longest_s > SHEET.protections.travel_timeout_close_s
    book.feed(seen(OPENING))  # a unit at the closed end: no test
    assert (book << Note).returned().ended is StrokeEnd.NOT_READY


def test_r10_safe_end_sends_nothing_where_stop_stops_nothing() -> None:
    """Where the sheet says that stop does not stop this motion, the safe end is to send nothing."""
    behaviour = msgspec.structs.replace(SHEET.behaviour, stop_stops_closing=False)
    sheet = msgspec.structs.replace(SHEET, behaviour=behaviour)
    assert safe_end(sheet, End.CLOSED) == (SafeEnd.SEND_NOTHING, None)
    assert safe_end(sheet, End.OPEN)[0] is SafeEnd.STOP


def test_the_valve_is_seen_at_rest_for_a_second_first() -> None:
    """The command is asked for only after a second of still readings."""
    stream = seen(CLOSING)
    book = played(CLOSING) << Begin
    book.feed(stream) << Command("command_close")
    watched = sum(isinstance(request, Watch) for request in book.requests)
    assert watched >= 1.0 / LINE.period_s
    assert (book >> sent(CLOSING, Outcome.REFUSED, "illegal address")).returned().ended is StrokeEnd.REFUSED


@pytest.mark.parametrize(
    ("shown", "words"),
    [
        (
            {"open_limit": 0.0},
            "not at the start end: the open limit is not made; bring it there at the local panel",
        ),
        ({"closed_limit": 1.0}, "the closed limit is made already"),
    ],
)
def test_no_command_is_given_away_from_the_start_end(shown: dict[str, float], words: str) -> None:
    """A stroke that would not be a full one is no test: noted, returned, nothing sent."""
    book = played(CLOSING) << Begin
    book.feed(_changed(seen(CLOSING), shown))
    observed = (book << Note(words)).returned()
    assert (observed.ended, observed.why, observed.command) == (StrokeEnd.NOT_READY, words, None)
    assert not any(isinstance(request, Command) for request in book.requests)


def test_no_command_is_given_into_silence() -> None:
    """Without a single sample nothing is sent."""
    book = played(CLOSING) << Begin
    book.feed(Silence(n, 0, n * 300_000_000, "no answer") for n in range(1, 10))
    assert (book << Note("no sample came before the command")).returned().ended is StrokeEnd.NOT_READY


def test_r12_an_unanswered_command_goes_on_being_watched() -> None:
    """No answer proves nothing: the valve moves, and the stroke is timed."""
    stream = seen(CLOSING)
    book = played(CLOSING) << Begin
    book.feed(stream) << Command("command_close") >> sent(CLOSING, Outcome.UNANSWERED, "no answer in 0.3 s")
    book.feed(stream) << Note("moving")
    observed = book.feed(stream).returned()
    assert observed.ended is StrokeEnd.HOME
    assert "the command was not answered" in stroke_figures(observed, SHEET)[0].note


def test_an_unanswered_command_without_motion_is_no_test() -> None:
    """Nothing came back and nothing moved: it may never have arrived."""
    still = msgspec.structs.replace(CLOSING, dead_s=1000.0)
    book = played(still) << Begin
    stream = seen(still)
    book.feed(stream) << Command("command_close") >> sent(still, Outcome.UNANSWERED)
    observed = (book.feed(stream) << Note("end of travel not reached in 15 s")).returned()
    assert observed.ended is StrokeEnd.NO_MOTION


def test_a_stroke_that_never_gets_home_ends_at_the_time_out() -> None:
    """Past the travel time-out it is noted and ended; its time is at least that long."""
    stalled = msgspec.structs.replace(CLOSING, moving_s=200.0)
    stream = seen(stalled)
    book = played(stalled) << Begin
    book.feed(stream) << Command("command_close") >> sent(stalled)
    book.feed(stream) << Note("moving")
    observed = (book.feed(stream) << Note("end of travel not reached in 15 s")).returned()
    assert observed.ended is StrokeEnd.TIMED_OUT
    response = stroke_figures(observed, SHEET)[0]
    assert response.lower_bound_only
    assert 14.5 < response.unrounded < 15.2


def test_an_opening_stroke_waits_for_the_motor() -> None:
    """The pump goes on to its cut-out after the limit; the record goes on until it has stopped."""
    stroke = OPENING
    stream = seen(stroke)
    book = played(stroke) << Begin
    book.feed(stream) << Command("command_open") >> sent(stroke)
    book.feed(stream) << Note("moving")
    observed = book.feed(stream).returned()
    last = observed.track("motor_running")[-1]
    assert not last.is_true
    assert {"motor_run", "current_max"} <= {figure.name for figure in stroke_figures(observed, SHEET)}


def test_a_silence_in_the_middle_is_kept_in_its_place() -> None:
    """Silence is part of what was seen and ends nothing by itself."""
    stream: Iterator[Reply] = iter(with_gap(list(seen(CLOSING)), 4.0, 5.0))
    book = played(CLOSING) << Begin
    book.feed(stream) << Command("command_close") >> sent(CLOSING)
    book.feed(stream) << Note("moving")
    observed = book.feed(stream).returned()
    assert observed.ended is StrokeEnd.HOME
    assert sum(isinstance(item, Silence) for item in observed.seen) == 1


def test_a_guard_that_is_not_installed_is_noted() -> None:
    """The record says which guard this unit has no point for."""
    points = tuple(point for point in SHEET.points if point.role != "esd_healthy")
    sheet = msgspec.structs.replace(SHEET, points=points)
    book = Playbook(full_stroke(sheet, End.CLOSED, "K1 closed 1")) << Begin
    book << Note("guard 'ESD' is not installed: the unit has no point for ESD loop")
    book.feed(seen(OPENING))
    assert (book << Note).returned().ended is StrokeEnd.NOT_READY


def test_a_unit_without_the_command_is_said_before_anything_else() -> None:
    """The message names the point that is missing."""
    points = tuple(point for point in SHEET.points if point.role != "command_close")
    sheet = msgspec.structs.replace(SHEET, points=points)
    with pytest.raises(ValueError, match="needs a point for command_close"):
        next(full_stroke(sheet, End.CLOSED, "K1 closed 1"))


def test_replay_gives_the_same_figures() -> None:
    """The same replies make the same requests and the same figures: nothing else goes in."""

    def once() -> tuple[list[Request], object]:
        stream = seen(CLOSING)
        book = played(CLOSING) << Begin
        book.feed(stream) << Command("command_close") >> sent(CLOSING)
        book.feed(stream) << Note("moving")
        figures = stroke_figures(book.feed(stream).returned(), SHEET)
        return [request for request in book.requests if not isinstance(request, Begin)], figures

    assert once() == once()


def _changed(stream: Iterator[Readings], shown: dict[str, float]) -> Iterator[Readings]:
    for item in stream:
        by_role = {
            role: msgspec.structs.replace(reading, value=shown.get(role, reading.value))
            for role, reading in item.by_role.items()
        }
        yield Readings(item.number, item.at_ns, by_role)

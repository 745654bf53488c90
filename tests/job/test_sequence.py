"""The sequence of events, folded from the record and put in order."""

from commission.job import bodies
from commission.job.fold import Happened
from commission.job.sequence import LAPTOP, UNIT, Happening, fold_sequence, numbered
from tests.job.told import event_of
from tests.sheet.xv import xv_1101

SHEET = xv_1101()
SCAN_MS = SHEET.link.scan_s * 1000


def folded(*told: tuple[bodies.Body, int, str]) -> tuple[Happening, ...]:
    """Bodies recorded at so many milliseconds of unit time in a session."""
    sequence: tuple[Happening, ...] = ()
    for number, (body, at_ms, session) in enumerate(told, start=1):
        event = event_of(body, number, at_mono_ns=at_ms * 1_000_000, session=session)
        sequence = fold_sequence(sequence, Happened(event, body), SHEET)
    return sequence


def bit(role: str, after_ms: float, by_ms: float, *, to: int = 0) -> bodies.BitsChanged:
    """A bit that changed between two readings."""
    return bodies.BitsChanged(
        run="r1", changes={role: (1 - to, to)}, after_ns=round(after_ms * 1e6), by_ns=round(by_ms * 1e6)
    )


def sent(at_ms: float, half_ms: float = 2.0) -> bodies.CommandSent:
    """A command on the wire."""
    return bodies.CommandSent(
        run="r1",
        role="command_close",
        value=1,
        at_ns=round(at_ms * 1e6),
        half_width_ns=round(half_ms * 1e6),
        outcome="answered",
        purpose="procedure",
    )


def test_change_of_a_bit_is_up_to_a_scan_older_than_its_reading() -> None:
    """What the register shows was true when the unit last scanned its inputs."""
    (one,) = folded((bit("esd_healthy", 100, 140), 150, "a"))
    assert (one.span.after_ns / 1e6, one.span.by_ns / 1e6) == (100 - SCAN_MS, 140)
    assert (one.source, one.words) == (UNIT, "ESD loop: healthy to tripped")


def test_time_of_day_is_that_of_the_middle_of_the_span() -> None:
    """The event was recorded at 150 ms; its middle is 40 ms earlier."""
    (one,) = folded((bit("esd_healthy", 100, 140), 150, "a"))
    assert one.at_utc == "2026-05-12T06:40:59.960+00:00"


def test_command_stands_with_what_became_of_it() -> None:
    """A command is the laptop's; its span is the time it was on the wire."""
    (one,) = folded((sent(100), 110, "a"))
    assert (one.source, one.words) == (LAPTOP, "command close sent, answered (procedure)")
    assert (one.span.after_ns / 1e6, one.span.by_ns / 1e6) == (98, 102)


def test_order_is_by_time_not_by_record() -> None:
    """The command was recorded after the bit that it changed was seen; it is numbered first all the same."""
    first, second = numbered(folded((bit("motor_running", 200, 240, to=1), 250, "a"), (sent(100), 260, "a")))
    assert (first.number, first.happening.source, first.undecided) == (1, LAPTOP, ())
    assert (second.number, second.happening.source, second.undecided) == (2, UNIT, ())


def test_sessions_follow_each_other_whatever_their_clocks_say() -> None:
    """Unit time begins anew in each session: a small number in the second is not before a large one in the first."""
    items = numbered(
        folded(
            (bit("remote", 5000, 5040), 5050, "a"),
            (bit("remote", 10, 50, to=1), 60, "b"),
            (bit("automatic", 20, 60), 70, "b"),
        )
    )
    assert [(item.number, item.undecided) for item in items] == [(1, ()), (2, (3,)), (3, (2,))]


def test_role_of_a_later_program_is_kept_by_its_name() -> None:
    """A record may name a role that this program does not know."""
    (one,) = folded((bit("door_switch", 100, 140), 150, "a"))
    assert one.words == "door_switch: 1 to 0"


def test_other_events_leave_it_alone() -> None:
    """Only what changed and what was sent is in it."""
    assert folded((bodies.Noted(run="r1", mark="closing"), 10, "a")) == ()

"""A partial stroke, played out: by the unit, by the laptop, watched; and on the real unit without a wire."""

from collections.abc import Iterator

import msgspec
import pytest

from commission.analysis.partial import PartialEnd, PartialObserved
from commission.practice.condition import Condition
from commission.procedures.partial_bounds import start_end
from commission.procedures.partial_stroke import partial_stroke, plan_of
from commission.procedures.partial_told import Told
from commission.procedures.requests import Begin, Command, CommandValue, Note, SafeEnd, Sent
from commission.sample import Outcome, Silence
from commission.sheet import End, Sheet
from commission.sheet.decode import Reading, Readings
from tests.analysis.seen import SHEET
from tests.procedures.playbook import Playbook
from tests.procedures.test_partial_checks import still as minute
from tests.sheet.xv import changed
from tests.supervise.direct import DirectSite, made_directly

TOLD = Told(test="L2 1", steady_s=60.0, starts_used=1)
CYCLE_S = 0.1


def by_laptop(**orifice: float) -> Sheet:
    """A unit whose spring stroke goes through an orifice of this many mm², turned round by the laptop."""
    assert SHEET.partial_stroke is not None
    return msgspec.structs.replace(
        SHEET,
        partial_stroke=msgspec.structs.replace(SHEET.partial_stroke, turned_by="laptop", path="spring stroke"),
        orifices=msgspec.structs.replace(SHEET.orifices, spring_stroke_mm2=orifice.get("mm2", 0.708)),
    )


def stroke_samples(from_s: float, farthest: float = 0.15, back_s: float = 27.0) -> Iterator[Readings]:
    """A plain partial stroke from here: a second of dead time, 1.5 %/s out, home, and a while at rest."""
    base = minute()[-1].by_role
    out_s = farthest / 0.015
    for count in range(10_000):
        at_s = from_s + count * CYCLE_S
        run_s = at_s - from_s - 1.0
        away = min(max(0.0, run_s * 0.015), farthest)
        motor = run_s > out_s + 0.2 and run_s < out_s + back_s + 3
        if run_s > out_s + 0.2:
            away = max(0.0, farthest * (1 - (run_s - out_s - 0.2) / back_s))
        values = {role: reading.value for role, reading in base.items()}
        values |= {"travel": 1 - away, "motor_running": float(motor), "open_limit": float(away < 0.01)}
        at_ns = round(at_s * 1e9)
        yield Readings(100 + count, at_ns, {role: Reading(value, at_ns, 0) for role, value in values.items()})


def sent(role: str, at_s: float, outcome: Outcome = Outcome.ANSWERED, reason: str = "") -> Sent:
    """A command on the wire."""
    return Sent(role, 1, round(at_s * 1e9), 1_000_000, outcome, reason)


def ready(sheet: Sheet = SHEET, told: Told = TOLD) -> Playbook[PartialObserved]:
    """A stroke that has seen its minute; its notes of what was checked are behind it."""
    book = Playbook(partial_stroke(sheet, told)) << Begin
    return past_notes(book.feed(minute()))


def past_notes(book: Playbook[PartialObserved]) -> Playbook[PartialObserved]:
    """Behind the notes of what was checked."""
    while isinstance(book._asked, Note):
        book << Note >> None
    return book


def test_the_unit_turns_it_round() -> None:
    """One command, then only watching; everything that was seen comes out."""
    book = ready() << Command("command_partial_stroke") >> sent("command_partial_stroke", 60.1)
    book.feed(stream := stroke_samples(60.2)) << Note("turned at 15.0 %")
    observed = book.feed(stream).returned()
    assert observed.ended is PartialEnd.HOME
    assert observed.target == 0.15
    assert len(observed.checks) > 10
    assert [request for request in book.requests if isinstance(request, Command)] == [Command("command_partial_stroke")]
    home_ns = next(i.at_ns for i in observed.seen if isinstance(i, Readings) and i.number > 300 and i.bit("open_limit"))
    assert observed.seen[-1].at_ns - home_ns >= 10e9


def test_r10_the_agreed_safe_end_is_the_return_and_the_stop_key_stops() -> None:
    """Command open closes the bleed and pumps back; STOP stops the valve where it is."""
    begun = next(partial_stroke(SHEET, TOLD))
    assert isinstance(begun, Begin)
    assert (begun.safe_end, begun.safe_command) == (SafeEnd.RETURN, CommandValue("command_open"))
    assert begun.stop_command == CommandValue("command_stop")
    assert begun.own_guard_s == 20.0
    assert begun.gap_s == pytest.approx(0.3), "three polls of 0.1 s"
    assert begun.commands == (CommandValue("command_partial_stroke"),)
    frozen = changed(("stop_stops_closing = true", "stop_stops_closing = false"))
    begun = next(partial_stroke(frozen, TOLD))
    assert isinstance(begun, Begin)
    assert begun.stop_command is None


def test_a_check_that_does_not_hold_ends_it_before_the_command() -> None:
    """Its reason is the check's own sentence."""
    book = Playbook(partial_stroke(SHEET, TOLD)) << Begin
    observed = past_notes(book.feed(minute(supply_voltage=20.0))).returned()
    assert observed.ended is PartialEnd.NOT_READY
    assert observed.why == "supply: 20.0 V, 20.4 to 28.8 V, NOT as it should be"
    assert not any(isinstance(request, Command) for request in book.requests)


def test_a_time_out_begins_the_minute_anew_and_three_are_no_good_line() -> None:
    """Sixty seconds without one, or it is said."""
    samples = minute()
    silence = Silence(30, samples[28].at_ns, samples[29].at_ns, "no answer in 0.25 s")
    book = Playbook(partial_stroke(SHEET, TOLD)) << Begin
    for _ in range(3):
        book.feed([*samples[:29], silence])
    book << Note
    observed = book.returned()
    assert observed.ended is PartialEnd.NOT_READY
    assert "no answer in 0.25 s" in observed.why


def test_a_command_that_the_unit_refuses_ends_it() -> None:
    """With the unit's own words."""
    book = ready() << Command("command_partial_stroke")
    book >> sent("command_partial_stroke", 60.1, Outcome.REFUSED, "the unit could not do it")
    observed = book.returned()
    assert (observed.ended, observed.why) == (PartialEnd.REFUSED, "the unit could not do it")


def test_a_deliberate_return_at_eight_percent() -> None:
    """The same command as the safe end's, given on purpose; the valve comes home from there."""
    book = ready(told=msgspec.structs.replace(TOLD, turn_at_pct=8.0))
    book << Command("command_partial_stroke") >> sent("command_partial_stroke", 60.1)
    book.feed(stream := stroke_samples(60.2, farthest=0.082)) << Note("returning on purpose at 8 %")
    book << Command("command_open") >> sent("command_open", 66.7)
    book.feed(stream) << Note
    observed = book.feed(stream).returned()
    assert observed.ended is PartialEnd.HOME
    assert observed.returned is not None


def test_one_that_does_not_come_home_says_that_the_valve_is_unavailable() -> None:
    """Tell the controller now."""
    book = ready() << Command("command_partial_stroke") >> sent("command_partial_stroke", 60.1)
    book.feed(stream := stroke_samples(60.2, back_s=400.0)) << Note("turned at 15.0 %")
    book.feed(stream) << Note(PartialEnd.NOT_HOME.value)
    observed = book.returned()
    assert observed.ended is PartialEnd.NOT_HOME
    assert "VALVE UNAVAILABLE" in observed.ended.value


def test_watched_sends_nothing_and_waits_for_somebody_else() -> None:
    """No command, no guard, send nothing; who started it is said (safety rule R19)."""
    watched = changed(('turned_by = "unit"', 'turned_by = "watched"'))
    begun = next(partial_stroke(watched, TOLD))
    assert isinstance(begun, Begin)
    assert (begun.commands, dict(begun.guards), begun.safe_end) == ((), {}, SafeEnd.SEND_NOTHING)
    book = ready(watched)
    assert book.requests[-2] == Note("waiting for control room")
    book.feed(stream := stroke_samples(60.2)) << Note("turned at 15.0 %")
    observed = book.feed(stream).returned()
    assert observed.ended is PartialEnd.HOME
    assert (observed.command, observed.commanded_by) == (None, "control room")


def test_r22_the_laptop_goes_to_five_percent_first_and_measures_its_turning() -> None:
    """A slow path, on the real unit: the sum holds, and is kept; the valve stays below its limit."""
    told = msgspec.structs.replace(TOLD, steady_s=2.0, cycle_s=0.05, latency_s=0.05)
    sheet = by_laptop()
    ended, site = made_directly(sheet, lambda _site: partial_stroke(sheet, told))
    assert ended.observed is not None, ended
    assert ended.observed.ended is PartialEnd.HOME
    assert "shown safe" in ended.observed.why
    assert [role for _, role in site.unit.writes] == ["command_close", "command_open"] * 2
    farthest = max(r.value for r in ended.observed.away())
    assert 0.14 <= farthest < 0.2


def test_r22_through_the_full_speed_path_it_is_refused_by_the_sum() -> None:
    """After five percent, or before: never beyond the limit, and the sum says why."""
    told = msgspec.structs.replace(TOLD, steady_s=2.0, cycle_s=0.1, latency_s=0.1)
    sheet = by_laptop(mm2=5.44)
    lowest: list[float] = []

    def prepare(site: DirectSite) -> None:
        site.unit.each = lambda: lowest.append(site.unit.unit.hydraulics.travel_pct)

    ended, _ = made_directly(sheet, lambda _site: partial_stroke(sheet, told), prepare=prepare)
    if ended.observed is not None:
        assert ended.observed.ended is PartialEnd.NOT_SHOWN_SAFE
        assert "is NOT less than" in ended.observed.why
    else:
        assert ended.how == "aborted"
    assert min(lowest) > 80.0


def test_a_stuck_valve_is_returned_by_the_pressure_floor() -> None:
    """Nothing moves; what was commanded is taken back, and the valve is seen at its end."""
    told = msgspec.structs.replace(TOLD, steady_s=2.0)
    ended, site = made_directly(
        SHEET, lambda _site: partial_stroke(SHEET, told), condition=Condition(breakaway_factor=8.0)
    )
    assert ended.how == "aborted"
    assert "below 5.0 bar" in ended.reason
    assert ended.safe_end.seen == "confirmed"
    assert site.unit.writes[-1][1] == "command_open"


@pytest.mark.parametrize("role", ["travel", "open_limit", "command_open", "command_partial_stroke"])
def test_a_unit_without_a_needed_point_has_no_partial_stroke(role: str) -> None:
    """The message names it."""
    bare = msgspec.structs.replace(SHEET, points=tuple(p for p in SHEET.points if p.role != role))
    with pytest.raises(ValueError, match=role):
        plan_of(bare)


def test_a_normally_closed_vent_is_refused_always() -> None:
    """Whatever the sheet says besides."""
    vent = msgspec.structs.replace(SHEET, valve=msgspec.structs.replace(SHEET.valve, normally_closed_vent=True))
    with pytest.raises(ValueError, match="vent the line"):
        next(partial_stroke(vent, TOLD))
    assert start_end(SHEET) is End.OPEN

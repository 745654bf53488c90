"""M1 with the controller on the line: each point read aloud too, with who, what and both times."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from commission.analysis.span import SpanObserved
from commission.analysis.wiring import Finding
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.span import span
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.procedures.test_span import BY_LAPTOP
from tests.sheet.xv import xv_1101

AT_0 = datetime(2026, 5, 12, 11, 0, tzinfo=UTC)
WITH_ROOM = {**BY_LAPTOP, "room": "yes", "utc_at_0": AT_0.isoformat(), "offset_s": "7"}

Says = Callable[[HeldValve], str]


def percent(valve: HeldValve) -> float:
    """What a display that is in order shows."""
    return round((valve.current_ma(valve.travel) - 4) / 0.16, 1)


def log(valve: HeldValve, late_s: float = 1.0) -> str:
    """The event log's clock, seven seconds behind the laptop's."""
    return f"{AT_0 + timedelta(seconds=valve._at_s + late_s - 7):%H:%M:%S}"


def read(says: Says, arguments: dict[str, str] = WITH_ROOM, valve: HeldValve | None = None) -> SpanObserved:
    """A whole span, the controller saying so."""
    valve = valve or HeldValve()
    valve.said["room"] = lambda _ask: says(valve)
    observed, _ = play(span(xv_1101(), arguments), valve)
    assert isinstance(observed, SpanObserved)
    return observed


def test_each_point_has_who_read_what_and_both_times() -> None:
    """Forced by the valve itself; the proof goes into the record beside the figures, and the loop passes."""
    observed = read(lambda valve: f"{percent(valve):.1f} % {log(valve)}")
    assert [point.forced for point in observed.room] == [f"Feedback at {at} % up" for at in (0, 25, 50, 75, 100)]
    first = observed.room[1]
    assert (first.role, first.seen_by, first.finding) == ("feedback_current", "M.", Finding.RIGHT)
    assert first.read_back.endswith(" %")
    assert first.seen.startswith("8.0")
    assert first.seen.endswith(" UTC")
    assert len(first.their_time) == 8
    assert first.half_width_ns > 5e9, "from when it stood still to when they had read it"
    test = CATALOGUE["span"]
    assert test.points is not None
    assert test.points(observed).proved
    assert test.faults is not None
    assert test.faults(observed, xv_1101()) == ()


@pytest.mark.parametrize(
    ("says", "finding", "words"),
    [
        (lambda valve: f"{100 - percent(valve):.1f} % {log(valve)}", Finding.WRONG_TEXT, "turned round"),
        (lambda valve: f"{valve.current_ma(valve.travel) * 5:.1f} % {log(valve)}", Finding.WRONG_TEXT, "0 to 20 mA"),
        (lambda valve: f"0.0 % {log(valve)}", Finding.WRONG_TEXT, "the same as at the point before"),
        (lambda _valve: "wrong: XV-1102 travel 40 %", Finding.WRONG_TEXT, "Look at the tag"),
        (lambda valve: f"{percent(valve):.1f} % {log(valve, 40)}", Finding.LATE, "later than ours"),
    ],
)
def test_what_the_control_room_reads_otherwise_fails_the_loop(says: Says, finding: Finding, words: str) -> None:
    """However small its errors by the meter: the controller acts on what the screen shows."""
    observed = read(says)
    second = observed.room[1]
    assert second.finding is finding
    assert words in second.words
    faults = CATALOGUE["span"].faults
    assert faults is not None
    assert any(fault.startswith("control room, Feedback at 25 % up: ") for fault in faults(observed, xv_1101()))


def test_without_value_unit_or_time_it_is_asked_again() -> None:
    """Said what is missing; without a comparison of clocks the time is kept, and judges nothing."""
    valve = HeldValve()
    given = iter(["24.9 %", "as the meter 14:02:11"])
    plain = {**BY_LAPTOP, "room": "yes", "points": "0 25"}
    observed = read(lambda it: next(given, f"{percent(it):.1f} % 14:02:11"), plain, valve)
    assert [point.their_time for point in observed.room] == ["14:02:11"] * 2
    assert all(point.is_right for point in observed.room)
    assert "UTC" not in observed.room[0].seen
    asked = [text for text in valve.asked if "the controller reads aloud" in text]
    assert asked[0].startswith("0 % up: the controller reads aloud value, unit and time, as: 24.9 % 14:02:11.")
    assert asked[1].startswith("With the time of their event log. ")
    assert asked[2].startswith("With value and unit, in % or mA. ")


def test_what_was_read_while_the_valve_crept_is_not_kept() -> None:
    """Stem, meter and controller are asked once more; one row a point."""
    valve = HeldValve()
    crept: list[bool] = []

    def room(it: HeldValve) -> str:
        said = f"{percent(it):.1f} % {log(it)}"
        if it.travel > 0.2 and not crept:
            crept.append(True)
            it.travel += 0.02
        return said

    observed = read(room, {**WITH_ROOM, "points": "0 25"}, valve)
    assert crept
    assert len(observed.room) == 2
    assert observed.room[1].is_right


def test_nobody_is_asked_where_the_checklist_does_not_say_so() -> None:
    """And what is neither yes nor no is the checklist's mistake."""
    assert read(lambda _valve: "", BY_LAPTOP).room == ()
    with pytest.raises(ValueError, match="room is yes or no"):
        next(span(xv_1101(), {**BY_LAPTOP, "room": "perhaps", "test": "M1 1"}))

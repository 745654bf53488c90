"""Watching a monitor: nothing is sent, what is asked is taken when it is seen, and who cannot says so."""

from collections.abc import Generator
from typing import Any

import msgspec
import pytest

from commission.procedures.monitor_watch import Cannot, MonitorWatch
from commission.procedures.requests import Ask, Begin, Reply, Request, SafeEnd
from tests.procedures.monitored import Monitored
from tests.procedures.played import play
from tests.sheet.xv import xv_1101


def played(unit: Monitored, body: Any) -> Any:
    """A procedure that begins, does the body with its watch, and returns what that returns or why it could not."""

    def procedure() -> Generator[Request, Reply, Any]:
        watch = MonitorWatch(xv_1101())
        yield watch.begin("O 1", 60.0)
        try:
            return (yield from body(watch))
        except Cannot as end:
            return f"cannot: {end}"

    found, begun = play(procedure(), unit)
    assert isinstance(begun, Begin)
    return found


def test_nothing_is_commanded_and_a_long_silence_loses_nothing() -> None:
    """No command, no safe end, no guard; a minute of silence."""
    begun = MonitorWatch(xv_1101()).begin("O3 1", 900.0)
    assert (begun.commands, begun.safe_command, begun.guards) == ((), None, {})
    assert begun.safe_end is SafeEnd.SEND_NOTHING
    assert begun.gap_s == 60.0
    assert {"pipeline_pressure", "alarm_high_trip", "alarm_low_trip"} <= set(begun.roles)


def test_a_unit_without_the_points_is_refused() -> None:
    """With the point it lacks."""
    sheet = xv_1101()
    blind = tuple(point for point in sheet.points if point.role != "alarm_low_trip")
    with pytest.raises(ValueError, match="alarm_low_trip"):
        MonitorWatch(msgspec.structs.replace(sheet, points=blind))


def test_normal_brings_the_pressure_inside_and_the_trips_off() -> None:
    """Pressure first, then the reset, each said aloud."""
    unit = Monitored()
    unit.bar, unit.latched["high"] = 73.0, True

    def body(watch: MonitorWatch) -> Generator[Request, Reply, str]:
        yield from watch.normal()
        return watch.words

    assert "no trip" in played(unit, body)
    assert unit.bar == 60.0
    assert [note[:4] for note in unit.notes] == ["NEXT", "NEXT"]


def test_whoever_cannot_ends_the_run_with_why() -> None:
    """In their own words; without a reason that is said too."""
    for said, why in (("cannot, the pump leaks", "the pump leaks"), ("cannot", "no reason given")):
        unit = Monitored()
        unit.bar = 75.0
        unit.said = {"to": [said]}
        assert played(unit, lambda watch: watch.normal()) == f"cannot: {why}"


def test_done_is_not_believed_where_nothing_is_seen() -> None:
    """It says what it sees, and waits on."""
    unit = Monitored()
    unit.bar = 75.0
    unit.said = {"to": ["done"]}
    played(unit, lambda watch: watch.normal())
    assert any(note.startswith("not seen yet: the monitor reads 75") for note in unit.notes)


def test_what_takes_too_long_ends_the_run() -> None:
    """Half an hour."""
    unit = Monitored()
    unit.bar = 75.0
    unit.hands.clear()
    assert "not seen within 1800 s" in played(unit, lambda watch: watch.normal())


def test_silences_are_waited_through() -> None:
    """And what is seen after them is fresh."""
    unit = Monitored()

    def body(watch: MonitorWatch) -> Generator[Request, Reply, bool]:
        yield from watch.watch_for(1.0)
        unit.silent = 5
        yield from watch.fresh()
        return watch.silent

    assert played(unit, body) is False


def test_only_the_newest_seconds_are_kept_where_that_is_asked() -> None:
    """One sample older than that stays, so that the whole time is covered."""
    unit = Monitored()

    def body(watch: MonitorWatch) -> Generator[Request, Reply, float]:
        watch.keep(2.0)
        yield from watch.watch_for(10.0)
        return (watch.kept[-1].at_ns - watch.kept[0].at_ns) / 1e9

    assert 2.0 <= played(unit, body) <= 2.2


def test_a_number_that_cannot_be_is_asked_again() -> None:
    """A gauge of 100 bar shows no 600."""
    unit = Monitored()
    asked: list[str] = []

    def body(watch: MonitorWatch) -> Generator[Request, Reply, float]:
        yield from watch.fresh()
        value = yield from watch.number("gauge", "Gauge reads", "bar", 0.0, 100.0)
        asked.append("again")
        return value

    unit.bar = 600.0
    unit.hands["gauge"] = lambda _ask: setattr(unit, "bar", 61.0) if unit.asked.count("Gauge reads") > 1 else None
    assert played(unit, body) == 61.0
    assert any("cannot be" in note for note in unit.notes)


def test_the_question_carries_the_number_that_it_asks_for() -> None:
    """So that people at a practice unit can make it."""
    unit = Monitored()
    unit.bar = 75.0
    targets: list[float | None] = []

    def hand(ask: Ask) -> None:
        targets.append(ask.target)
        unit.go(ask.target or 0.0)

    unit.hands["to"] = hand
    played(unit, lambda watch: watch.normal())
    assert targets == [60.0]

"""Tests of what people do beside the unit at certain hours."""

import pytest

from commission.practice.day import Day
from commission.practice.scenario import Event, scenario_of
from commission.practice.setup import setup_of
from commission.practice.unit import PracticeUnit
from tests.practice.made import SHEET, unit_of


def test_events_come_at_their_hour() -> None:
    """A unit that starts at eight: nothing at 8:59, the act at nine, once."""
    unit = unit_of(SHEET)
    unit._scan_ns = 1_000_000_000  # in steps of a second
    day = Day(unit, (Event(at_h=9.0, act="loosen_closed_limit"),))
    unit.advance(3590.0)
    assert day.live() == ()
    unit.advance(20.0)
    assert [event.act for event in day.live()] == ["loosen_closed_limit"]
    assert unit.limits.chatters
    assert day.live() == ()


def test_an_hour_before_the_start_is_the_next_days() -> None:
    """Seven o'clock, for a unit that starts at eight, is 23 hours away."""
    unit = unit_of(SHEET)
    day = Day(unit, (Event(at_h=7.0, act="loosen_closed_limit"),))
    unit.advance(60.0)
    assert day.live() == ()


def test_what_is_not_possible_is_left_out() -> None:
    """An act that nobody could do then stops nothing that comes after it."""
    unit = unit_of(SHEET)
    events = (Event(at_h=8.0, act="local_open"), Event(at_h=8.0, act="link_cut", value=True))
    assert [event.act for event in Day(unit, events).live()] == ["link_cut"]
    assert unit.side.link_cut


def test_the_day_at_the_station() -> None:
    """From 06:40: the lead is run over at 11:20 and mended at 11:25, the limit chatters from 13:10."""
    setup = setup_of(SHEET, "the-day")
    assert setup.events == scenario_of("the-day", "XV-1101").events
    unit = PracticeUnit(SHEET, condition=setup.condition)
    day, seen = Day(unit, setup.events), []
    unit._scan_ns = 1_000_000_000  # a day in steps of a second
    for _ in range(7 * 60):
        unit.advance(60.0)
        seen += [(event.act, event.value, unit.climate.hour(unit.now_s)) for event in day.live()]
    assert [what[:2] for what in seen] == [("link_cut", True), ("link_cut", False), ("loosen_closed_limit", None)]
    assert [hour for *_, hour in seen] == pytest.approx([11.33, 11.42, 13.17], abs=0.03)

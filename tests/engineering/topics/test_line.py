"""Tests of trip bounds and surge as they are told."""

import msgspec

from commission.engineering.topics.line import line
from commission.engineering.unit import Unit
from commission.sheet.owner import Pipeline
from tests.engineering.units import sheet_of, unit_of


def with_line(**values: object) -> Unit:
    """XV-1101 in another line."""
    pipeline = msgspec.convert({"given_by": "the owner's engineer", **values}, Pipeline)
    return Unit(msgspec.structs.replace(sheet_of("xv-1101"), pipeline=pipeline))


def test_bounds_are_information_beside_the_set_points() -> None:
    """79.6 bar for an MAOP of 72.4; the source and whether it binds stand with it."""
    topic = line(unit_of("xv-1101"))
    protected, low = topic.find("trip.protected"), topic.find("trip.low")
    assert protected is not None
    assert low is not None
    assert protected.text == "79.6 bar"
    assert protected.note == "high trip set 70 bar"
    assert "not binding onshore" in low.origin
    assert "information" in topic.title


def test_surge_only_where_the_owner_gives_the_line() -> None:
    """Four numbers or none; the study's own limit stands first."""
    whole = with_line(
        density_kg_m3=860.0, wave_m_s=1100.0, velocity_m_s=2.0, length_m=5000.0, allowed_surge_bar=10.0,
        shortest_closing_s=20.0,
    )  # fmt: skip
    topic = line(whole)
    fastest, study = topic.find("surge.fastest"), topic.find("surge.study")
    assert fastest is not None
    assert study is not None
    assert "BELOW it" in fastest.note
    assert fastest.text == "17.2 s"
    part = line(with_line(density_kg_m3=860.0))
    assert any("all four" in lack.for_what for lack in part.lacks)


def test_a_unit_without_a_monitor_asks_for_nothing() -> None:
    """No trip, no bounds."""
    assert line(unit_of("fcv-2204")).lacks == ()
    bare = Unit(msgspec.structs.replace(sheet_of("xv-1101"), pipeline=None))
    assert [lack.field for lack in line(bare).lacks] == ["pipeline"]

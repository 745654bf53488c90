"""Tests of the points screen: values beside raw registers, what is old is struck out and says so."""

import asyncio
from pathlib import Path

import pytest
from textual.widgets import Static

from commission.terminal.screens.points import PointsScreen, Row, head, row_line, row_text
from tests.terminal.prepared import opened

TRAVEL = Row("travel", "53.4", "%", "CCCD 3D4C", "0.3 s", "input 10")


@pytest.mark.asyncio
async def test_points_show_value_unit_raw_and_age(tmp_path: Path) -> None:
    """Each point has its trade's name and unit, its raw words in hex, and how old it is; the line is put in words."""
    async with opened(tmp_path) as there:
        await there.show(PointsScreen())
        text = await there.until("travel  ")
    assert "99 of 100 within" in text
    assert "requests answered" in text
    assert "bar" in text
    assert "044D" in text, "1101, the identity code, in hex"
    assert "NoAnswer" not in text


@pytest.mark.asyncio
async def test_values_are_struck_out_where_the_unit_is_silent(tmp_path: Path) -> None:
    """After the contact is lost the values are struck out, their age says OLD, and the reason stands above them."""
    async with opened(tmp_path) as there:
        await there.show(PointsScreen())
        await there.until("travel  ")
        there.unit.server.deaf = True
        text = await there.until("below are old")
        assert "OLD" in await there.until("OLD")
        page = there.app.screen.query_one("#points").query_one(Static)
        spans = page.visual.spans  # type: ignore[attr-defined]  # a Content, which has them
        there.unit.server.deaf = False
    assert "NO CONTACT" in text
    assert any("strike" in str(span.style) for span in spans)


@pytest.mark.asyncio
async def test_without_a_line_it_says_so(tmp_path: Path) -> None:
    """Without a line nothing is shown as read, and where the line comes from is said."""
    async with opened(tmp_path, connected=False) as there:
        text = await there.show(PointsScreen())
        await asyncio.sleep(0)
    assert "No line to the unit" in text


def test_old_row_strikes_only_the_value() -> None:
    """The label stays readable; only the value is struck out, and the age repeats it in a word."""
    old = Row(TRAVEL.label, TRAVEL.now, TRAVEL.unit, TRAVEL.raw, "OLD 12 s", TRAVEL.place, old=True)
    line = row_line(old, 78)
    assert not isinstance(line, str)
    assert [piece for piece, style in line if style == "strike"] == ["53.4"]
    assert "OLD 12 s" in "".join(piece for piece, _ in line)


def test_place_of_the_point_only_where_there_is_room() -> None:
    """At 80 columns the row leaves the place out; at 120 it is there, under its own head."""
    assert "input 10" not in row_text(TRAVEL, 77)
    assert row_text(TRAVEL, 117).endswith("input 10")
    assert "where" in str(head(117))
    assert len(row_text(TRAVEL, 77)) <= 77

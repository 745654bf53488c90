"""Every figure that any unit of the station is told: units there and back, texts, order, and what changes what."""

import json
import math
from functools import lru_cache

import pytest

from commission import quantity
from commission.cli.expected import as_json, lines_of
from commission.engineering.expectation import Expectation, all_of
from commission.engineering.topics import topics_of
from tests.engineering.units import TAGS, changed_unit, sheet_of

BACK = {"psi": "bar", "gal": "L", "gal/min": "L/min", "in": "mm"}
SPELLED = {"gal": "gallon", "gal/min": "gallon/minute", "in": "inch"}


@lru_cache(maxsize=4)
def figures(tag: str) -> dict[str, Expectation]:
    """All figures of a unit, by id."""
    return {figure.id: figure for figure in all_of(topics_of(sheet_of(tag)))}


@pytest.mark.parametrize("tag", TAGS)
def test_us_units_convert_back(tag: str) -> None:
    """Pressures, volumes, flows and lengths come back from US units; what has no US unit stays."""
    for figure in figures(tag).values():
        told = figure.in_us_units()
        if told.unit in BACK and math.isfinite(figure.value):
            back = quantity.conversion(SPELLED.get(told.unit, told.unit), BACK[told.unit]).apply(told.value)
            assert back == pytest.approx(figure.value, rel=1e-9), figure.id
        if told.unit == figure.unit:
            assert told == figure


@pytest.mark.parametrize("tag", TAGS)
def test_every_text_begins_with_its_number(tag: str) -> None:
    """And ends with its unit; none carries an exponent."""
    for figure in figures(tag).values():
        if figure.text != "never":
            assert float(figure.text.split()[0]) == pytest.approx(figure.value, rel=0.06, abs=0.51)
        assert figure.text.endswith(figure.unit) or figure.text == "never"
        assert "e+" not in figure.text
        assert "e-" not in figure.text.split()[0]


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize("width", [80, 100, 132])
def test_a_page_keeps_its_width(tag: str, width: int) -> None:
    """At every width; each name is on the page."""
    topics = topics_of(sheet_of(tag))
    page = lines_of(sheet_of(tag), topics, (), width)
    assert max(map(len, page)) <= width
    text = "\n".join(page)
    assert all(figure.name in text for figure in all_of(topics))


@pytest.mark.parametrize("tag", TAGS)
def test_json_is_json(tag: str) -> None:
    """No infinity, no not-a-number; every figure with id, name, value, unit, origin, note and text."""
    told = json.dumps(as_json(sheet_of(tag), topics_of(sheet_of(tag)), ()), allow_nan=False)
    topics = json.loads(told)["topics"]
    for topic in topics:
        for figure in topic["expected"]:
            assert {"id", "name", "value", "unit", "origin", "note", "text"} <= figure.keys()


CAUSES = [
    ("accumulator", {"precharge_bar": 60.0}, {"accumulator.usable", "precharge.20"}, {"margin.opening.run"}),
    ("pump", {"cut_in_bar": 100.0}, {"margin.opening.run", "accumulator.usable"}, {"stroke.closing.time"}),
    ("orifices", {"spring_stroke_mm2": 4.0}, {"stroke.closing.time"}, {"stroke.opening.time", "partial.out"}),
    ("spring", {"force_at_open_n": 75_000.0}, {"margin.closing.break", "stroke.closing.start"}, {"volume.open"}),
    ("actuator", {"bore_mm": 130.0}, {"volume.open", "margin.opening.run", "tank.swing"}, {"margin.closing.run"}),
    ("supply", {"lowest_v": 18.0}, {"stroke.opening.slowest"}, {"stroke.closing.slowest", "stroke.opening.time"}),
    ("environment", {"coldest_c": -20.0}, {"stroke.closing.slowest"}, {"stroke.closing.time"}),
    ("tank", {"fill_l": 10.0}, {"tank.lowest"}, {"tank.swing"}),
    ("fluid", {"bulk_modulus_gpa": 1.0}, {"oil.band", "trapped.rise", "trapped.lost"}, {"accumulator.usable"}),
]
"""Part, change, figures that must change, figures that must not."""


@pytest.mark.parametrize(("part", "change", "moved", "kept"), CAUSES, ids=[row[0] for row in CAUSES])
def test_what_changes_what(part: str, change: dict[str, float], moved: set[str], kept: set[str]) -> None:
    """A field of the sheet moves what hangs on it and nothing beside."""
    before = figures("xv-1101")
    after = {figure.id: figure for figure in all_of(topics_of(changed_unit("xv-1101", part, **change).sheet))}
    assert {name for name in moved if after[name].value == before[name].value} == set()
    assert {name for name in kept if after[name].value != pytest.approx(before[name].value, rel=1e-9)} == set()


@pytest.mark.parametrize("pressure", [90.0, 100.0])
def test_a_lower_cut_in_never_helps(pressure: float) -> None:
    """Less margin at the lowest legitimate pressure, more oil between the switches."""
    sheet = changed_unit("xv-1101", "pump", cut_in_bar=pressure).sheet
    low, rated = {figure.id: figure for figure in all_of(topics_of(sheet))}, figures("xv-1101")
    for name in ("margin.opening.break", "margin.opening.run", "margin.opening.end"):
        assert low[name].value < rated[name].value
    assert low["accumulator.usable"].value >= rated["accumulator.usable"].value

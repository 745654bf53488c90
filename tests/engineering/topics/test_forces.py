"""Tests of margins as they are told."""

import pytest

from commission.engineering.topics.forces import forces
from tests.engineering.units import changed_unit, drawn_unit, unit_of


def test_the_weakest_point_is_named() -> None:
    """Mid-travel of XV-1101, opening; each direction has one."""
    topic = forces(unit_of("xv-1101"))
    weakest = [figure.id for figure in topic.expected if "weakest of" in figure.note]
    assert weakest == ["margin.opening.run", "margin.closing.run"]
    assert topic.title == "Torque"
    assert forces(unit_of("bdv-3307")).title == "Thrust"


def test_a_margin_below_the_required_one_is_said() -> None:
    """In capitals, with the number."""
    topic = forces(changed_unit("xv-1101", "valve", required_margin=1.6))
    margin = topic.find("margin.opening.run")
    assert margin is not None
    assert "BELOW the required 1.6" in margin.note


def test_a_relief_valve_that_stalls_the_stroke_is_said() -> None:
    """Relief turned down to 80 bar passes every empty stroke and stalls in service."""
    topic = forces(changed_unit("xv-1101", "pump", relief_bar=80.0, cut_out_bar=78.0, cut_in_bar=70.0))
    design, empty = topic.find("pressure.opening.design.largest"), topic.find("pressure.opening.empty.largest")
    assert design is not None
    assert empty is not None
    assert "ABOVE the relief valve" in design.note
    assert "relief" not in empty.note


def test_without_loads_there_is_no_margin() -> None:
    """And the sheet is asked for them."""
    topic = forces(changed_unit("xv-1101", "valve", load=()))
    assert topic.expected == ()
    assert [lack.field for lack in topic.lacks] == ["valve.load"]


def test_margins_are_those_of_the_spring_that_is_worst_for_them() -> None:
    """Ten per cent: closing has nine tenths of the spring, opening works against eleven tenths."""
    as_drawn, worst = forces(drawn_unit("xv-1101")), forces(changed_unit("xv-1101", "spring", tolerance_pct=10.0))
    for name in ("margin.closing.run", "margin.opening.run"):
        before, after = as_drawn.find(name), worst.find(name)
        assert before is not None
        assert after is not None
        assert after.value < before.value
        assert ("weakest" if "closing" in name else "strongest") in after.origin
        assert "spring as in the sheet" in before.origin
        assert f"{before.value:.2f} with the spring as drawn" in after.note
    closing = worst.find("margin.closing.run"), as_drawn.find("margin.closing.run")
    assert closing[0] is not None
    assert closing[1] is not None
    assert closing[0].value == pytest.approx(0.9 * closing[1].value)
    assert "spring.tolerance_pct" in [lack.field for lack in as_drawn.lacks]
    assert "spring.tolerance_pct" not in [lack.field for lack in worst.lacks]
    margins = [one for one in forces(unit_of("fcv-2204")).expected if one.id.startswith("margin")]
    assert not any("spring" in figure.origin for figure in margins)

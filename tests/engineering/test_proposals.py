"""Tests of proposed settings beside those of the sheet."""

import math

import pytest

from commission.engineering.proposals import Proposal, legitimate_oil_c, longest_run, lowest_speed, proposals, slowest
from commission.engineering.unit import Unit
from commission.sheet.model import End
from tests.engineering.units import changed_unit, unit_of


def named(tag_or_unit: str | Unit, name: str) -> Proposal:
    """One proposal of a unit."""
    unit = unit_of(tag_or_unit) if isinstance(tag_or_unit, str) else tag_or_unit
    return next(one for one in proposals(unit) if one.name == name)


@pytest.mark.parametrize("tag", ["xv-1101", "bdv-3307"])
def test_the_demonstration_settings_agree(tag: str) -> None:
    """Run limit, time-outs and starts follow from the slowest legitimate strokes."""
    assert {one.verdict for one in proposals(unit_of(tag))} == {"agrees"}


def test_the_slowest_run_of_the_shutdown_valve() -> None:
    """192 s: hottest oil that its table reaches, 20.4 V, design load; the setting is 300 s."""
    found = longest_run(unit_of("xv-1101"))
    assert found is not None
    assert found[0] == pytest.approx(192, abs=1)
    assert named("xv-1101", "run_limit_s").least == pytest.approx(1.5 * found[0], rel=1e-12)


def test_a_limit_from_the_warm_empty_stroke_is_too_short() -> None:
    """It trips in January: 220 s is 1.5 times the empty stroke, not the slowest legitimate one."""
    short = changed_unit("xv-1101", "protections", run_limit_s=220.0, travel_timeout_close_s=12.0)
    assert named(short, "run_limit_s").verdict.startswith("too short")
    assert named(short, "travel_timeout_close_s").verdict.startswith("too short")
    late = changed_unit("xv-1101", "protections", run_limit_s=900.0)
    assert named(late, "run_limit_s").verdict == "longer than needed"


def test_a_stroke_that_does_not_finish_proposes_nothing() -> None:
    """No factor on infinity."""
    stuck = changed_unit("xv-1101", "pump", relief_bar=126.0, cut_out_bar=125.0)
    assert named(stuck, "run_limit_s").verdict == "agrees"
    never = Proposal(name="x", least=math.inf, most=math.inf, unit="s", setting=1.0, because="")
    assert never.verdict.startswith("cannot be judged")


def test_what_makes_the_slowest() -> None:
    """Cold oil the spring stroke, low volts the pumped one; an induction motor hardly follows its volts."""
    closing, opening = slowest(unit_of("xv-1101"), End.CLOSED), slowest(unit_of("xv-1101"), End.OPEN)
    assert closing is not None
    assert opening is not None
    weak = slowest(changed_unit("xv-1101", "spring", tolerance_pct=5.0), End.CLOSED)
    assert weak is not None
    assert weak.stroke.time_s > closing.stroke.time_s
    assert "-40 °C" in closing.because
    assert "20.4 V" in opening.because
    assert lowest_speed(unit_of("xv-1101")) == pytest.approx(0.85)
    assert lowest_speed(unit_of("fcv-2204")) == 1.0
    assert slowest(changed_unit("xv-1101", "orifices", spring_stroke_mm2=None), End.CLOSED) is None


def test_temperatures_that_are_legitimate() -> None:
    """A pump that is inhibited in the cold starts at its limit; a thickened oil is not taken beyond its table."""
    assert legitimate_oil_c(unit_of("bdv-3307")) == (-5.0, 20.0, 40.0)
    assert legitimate_oil_c(unit_of("xv-1101")) == (-40.0, 20.0, 40.0)
    assert legitimate_oil_c(unit_of("fcv-2204")) == (-10.0, 20.0, 45.0)


def test_a_modulating_unit_has_no_travel_time_out() -> None:
    """It alarms on deviation; starts and run time still apply."""
    assert [one.name for one in proposals(unit_of("fcv-2204"))] == ["run_limit_s", "starts_allowed"]

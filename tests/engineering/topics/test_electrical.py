"""Tests of currents, drops and autonomy as they are told."""

import pytest

from commission.content import checklists_folder
from commission.engineering.topics.electrical import current_at_a, electrical
from commission.engineering.unit import Unit
from commission.sheet import load_sheet
from tests.engineering.units import changed_unit, unit_of


def test_the_running_point_is_met() -> None:
    """19.6 A at 105 bar; less at less pressure."""
    unit = unit_of("xv-1101")
    assert current_at_a(unit, 105e5) == pytest.approx(19.6, rel=1e-9)
    assert current_at_a(unit, 66e5) == pytest.approx(12.8, abs=0.2)


def test_a_motor_above_its_rating_is_said() -> None:
    """At cut-out, where the current is largest."""
    topic = electrical(changed_unit("bdv-3307", "supply", rated_a=7.0))
    cut_out = topic.find("current.cut_out")
    assert cut_out is not None
    assert "ABOVE the rated 7 A" in cut_out.note


def test_a_thin_cable_is_said() -> None:
    """A dip of more than 15 % at start; American sizes too; an unknown size is a lack."""
    thin = electrical(changed_unit("xv-1101", "supply", cable_awg=14)).find("drop.start")
    assert thin is not None
    assert "MORE than the usual 15 %" in thin.note
    odd = electrical(changed_unit("xv-1101", "supply", cable_mm2=3.3))
    assert any("tabled" in lack.for_what for lack in odd.lacks)


def test_a_battery_that_does_not_last_is_said() -> None:
    """Fewer days than asked; an array that is too small."""
    topic = electrical(changed_unit("xv-1101", "supply", battery_ah=100.0, array_w=130.0))
    days, array = topic.find("battery.days"), topic.find("array.needed")
    assert days is not None
    assert array is not None
    assert "LESS than the asked 5" in days.note
    assert "TOO LITTLE" in array.note
    never = topic.find("array.recovery")
    assert never is not None
    assert never.text == "never"


def test_wind_adds_and_asks_for_its_share() -> None:
    """A generator without its mean output is a lack."""
    plain = electrical(unit_of("xv-1101")).find("array.collected")
    windy = electrical(changed_unit("xv-1101", "supply", wind_w=100.0, wind_share=0.1)).find("array.collected")
    assert plain is not None
    assert windy is not None
    assert windy.value > plain.value
    asks = electrical(changed_unit("xv-1101", "supply", wind_w=100.0))
    assert any(lack.field == "supply.wind_share" for lack in asks.lacks)


def test_the_loop_of_a_modulating_unit() -> None:
    """250 Ω take 5.5 V at 22 mA; a unit without a loop has no such line."""
    loop = electrical(unit_of("fcv-2204")).find("loop.volts")
    assert loop is not None
    assert loop.text == "5.50 V"
    assert electrical(unit_of("xv-1101")).find("loop.volts") is None


def test_strokes_of_a_unit_that_lives_from_its_accumulator() -> None:
    """A cycle takes the oil of both strokes from the battery, not a whole recharge."""
    sheet = load_sheet(checklists_folder() / "units" / "pcv-4410.toml")[0]
    unit = Unit(sheet)
    day = electrical(unit).find("battery.day")
    assert day is not None
    oil_m3 = sum(unit.drive.stroke_m3(end) for end in unit.drive.powered_ends)
    strokes_ah = 24 * 8.2 * oil_m3 / unit.pump.stated_m3_s / 3600
    assert day.value == pytest.approx(24 * 0.3 + strokes_ah, rel=1e-6)


def test_wind_and_sun_of_the_unit_without_a_link() -> None:
    """Every number of its supply is there: nothing is lacking, and a day is put back."""
    topic = electrical(Unit(load_sheet(checklists_folder() / "units" / "pcv-4410.toml")[0]))
    collected, day = topic.find("array.collected"), topic.find("battery.day")
    assert collected is not None
    assert day is not None
    assert collected.value > day.value
    assert topic.lacks == ()

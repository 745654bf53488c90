"""Tests of forces, torques and margins over travel."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.drive import Margin, drive_of, weakest
from commission.sheet.model import End
from tests.engineering.units import TAGS, changed_unit, sheet_of, unit_of

TRAVELS = st.floats(0.0, 1.0)


@given(travel=TRAVELS, tag=st.sampled_from(TAGS))
def test_a_heavier_valve_takes_more_pressure_with_the_pump_and_leaves_less_to_the_spring(
    travel: float, tag: str
) -> None:
    """Load raises the pressure of a powered stroke and lowers that of a spring stroke."""
    drive = unit_of(tag).drive
    for towards in (End.OPEN, End.CLOSED):
        light, heavy = (drive.moving_pa(travel, towards, share) for share in (0.5, 1.0))
        assert (heavy >= light) == (towards in drive.powered_ends)


@pytest.mark.parametrize("tag", TAGS)
@given(low=st.floats(50e5, 150e5), high=st.floats(50e5, 150e5))
def test_more_pressure_is_never_less_margin(tag: str, low: float, high: float) -> None:
    """With the pump; a spring does not know the pressure."""
    low, high = sorted((low, high))
    drive = unit_of(tag).drive
    for towards in (End.OPEN, End.CLOSED):
        for at_low, at_high in zip(drive.margins(towards, low), drive.margins(towards, high), strict=True):
            assert at_low.factor <= at_high.factor


def test_friction_and_spring_come_back_from_a_pair_of_pressures() -> None:
    """Opening and closing pressure at one place: half the difference is friction, half the sum is the spring."""
    drive = unit_of("xv-1101").drive
    area = drive.cylinder.piston_m2
    opening, closing = (drive.moving_pa(0.5, end, 0.55) for end in (End.OPEN, End.CLOSED))
    uneven = drive.load_force_n(0.5, End.OPEN, 0.55) - drive.load_force_n(0.5, End.CLOSED, 0.55)
    assert (opening + closing) * area / 2 == pytest.approx(drive.spring_force_n(0.5) + uneven / 2, rel=1e-9)
    assert drive.spring_force_n(0.5) == pytest.approx(63_000, rel=1e-9)


def test_each_margin_knows_its_place() -> None:
    """Break at the start of the movement, end at its end, run between; by pressure one way, by spring the other."""
    margins = unit_of("xv-1101").drive.margins(End.CLOSED, 105e5)
    assert [margin.phase for margin in margins] == ["break", "run", "run", "run", "run", "end"]
    assert (margins[0].travel, margins[-1].travel) == (1.0, 0.0)
    assert {margin.by for margin in margins} == {"spring"}
    opening = unit_of("xv-1101").drive.margins(End.OPEN, 105e5)
    assert {margin.by for margin in opening} == {"pressure"}


def test_areas_follow_the_side() -> None:
    """FCV-2204 closes with the full bore and opens with the ring around the rod."""
    drive = unit_of("fcv-2204").drive
    assert drive.powered_ends == (End.OPEN, End.CLOSED)
    assert drive.spring_end is None
    assert drive.area_m2(End.CLOSED) * 1e4 == pytest.approx(50.27, abs=0.005)
    assert drive.area_m2(End.OPEN) * 1e4 == pytest.approx(40.09, abs=0.005)


def test_a_silent_sheet_needs_nothing_and_has_no_margin() -> None:
    """Without loads there is nothing to divide by."""
    silent = changed_unit("xv-1101", "valve", load=())
    assert silent.drive.required(0.5, End.OPEN) == 0.0
    assert weakest(silent.drive.margins(End.OPEN, 105e5)) is None
    free = Margin(travel=0, towards=End.OPEN, by="spring", phase="run", available=1.0, required=0.0)
    assert free.factor == math.inf


def test_a_rack_and_gear_from_its_stroke() -> None:
    """Without a radius the stroke over the angle is one."""
    sheet = changed_unit("xv-1101", "actuator", mechanism="rack and gear", arm_radius_mm=None).sheet
    drive = drive_of(sheet)
    assert drive.mechanism.rod_m(1.0) == pytest.approx(0.32, rel=1e-12)
    with pytest.raises(ValueError, match="arm_radius_mm"):
        drive_of(changed_unit("xv-1101", "actuator", arm_radius_mm=None).sheet)


def test_margins_of_a_station_unit_stand_above_what_the_sheet_requires() -> None:
    """Each unit of the station has its required margin everywhere."""
    for tag in TAGS:
        unit = unit_of(tag)
        for towards in (End.OPEN, End.CLOSED):
            least = weakest(unit.drive.margins(towards, unit.cut_in_pa))
            assert least is not None
            assert least.factor >= (sheet_of(tag).valve.required_margin or 0.0)

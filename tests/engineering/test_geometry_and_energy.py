"""The mechanisms by plane geometry, and whole strokes by their energy: computed in another way than in the package."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.engineering.mechanism import SlottedArm
from commission.engineering.quadrature import integral
from commission.sheet.model import End
from tests.engineering.units import changed_unit, unit_of


def pin_on_the_slot(radius: float, cant: float, angle: float) -> float:
    """
    Where the rod's line meets the slot, by intersecting two lines.

    The stem is the origin, the rod's line is y = R. The slot goes through (0, R) at the middle of travel, leaning by
    `cant`, and turns with the arm by `angle` towards +x.
    """
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    foot = turn @ np.array([0.0, radius])
    along = turn @ np.array([math.sin(cant), math.cos(cant)])
    return float(foot[0] + along[0] * (radius - foot[1]) / along[1])


@given(radius=st.floats(0.05, 0.4), cant=st.floats(-0.4, 0.4), travel=st.floats(0.0, 1.0))
def test_a_slotted_arm_by_intersecting_lines(radius: float, cant: float, travel: float) -> None:
    """Symmetric and canted: the pin lies on both lines."""
    arm = SlottedArm(radius_m=radius, cant_rad=cant)
    angle = (travel - 0.5) * math.pi / 2
    expected = pin_on_the_slot(radius, cant, angle) - pin_on_the_slot(radius, cant, -math.pi / 4)
    assert arm.rod_m(travel) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(radius=st.floats(0.05, 0.4), cant=st.floats(-0.4, 0.4), travel=st.floats(0.0, 1.0))
def test_the_arm_by_forces(radius: float, cant: float, travel: float) -> None:
    """The slot's wall pushes square to the slot; its part along the rod is the rod's force, its moment the torque."""
    angle = (travel - 0.5) * math.pi / 2
    pin = np.array([pin_on_the_slot(radius, cant, angle), radius])
    lean = angle + cant
    normal = np.array([math.cos(lean), -math.sin(lean)])  # square to the slot, towards +x
    wall = 1.0 / normal[0]
    torque = abs(float(pin[0] * normal[1] * wall - pin[1] * normal[0] * wall))
    assert SlottedArm(radius_m=radius, cant_rad=cant).arm_m(travel) == pytest.approx(torque, rel=1e-9)


@pytest.mark.parametrize("tag", ["xv-1101", "bdv-3307"])
def test_the_springs_work_goes_into_load_and_oil(tag: str) -> None:
    """Spring stroke on an empty line: ∫F_s dx = ∫load dx + ∫p·A dx, to the sum's own accuracy."""
    drive = unit_of(tag).drive
    towards = drive.spring_end
    assert towards is not None
    share = unit_of(tag).empty_share
    stroke = drive.cylinder.stroke_m

    def over_rod(force: Callable[[float], float]) -> float:
        return integral(lambda rod: force(drive.mechanism.travel_at(rod)), 0.0, stroke)

    spring = over_rod(drive.spring_force_n)
    load = over_rod(lambda travel: drive.load_force_n(travel, towards, share))
    oil = over_rod(lambda travel: drive.moving_pa(travel, towards, share) * drive.cylinder.piston_m2)
    assert spring == pytest.approx(load + oil, rel=1e-12)
    assert drive.spring_n is not None
    assert spring == pytest.approx(sum(drive.spring_n) / 2 * stroke, rel=1e-9)  # a trapezoid


def test_work_at_the_stem_is_work_at_the_rod() -> None:
    """∫T dθ over 90° equals ∫F dx over the stroke, times the mechanism's efficiency."""
    drive = unit_of("xv-1101").drive
    swing = math.pi / 2
    at_stem = integral(lambda travel: drive.stem(travel, drive.spring_force_n(travel)) * swing, 0.0, 1.0)
    at_rod = integral(lambda rod: drive.spring_force_n(drive.mechanism.travel_at(rod)), 0.0, drive.cylinder.stroke_m)
    assert at_stem == pytest.approx(drive.efficiency * at_rod, rel=1e-9)


@settings(max_examples=20)
@given(efficiency=st.floats(0.5, 1.0), share=st.floats(0.1, 1.0))
def test_a_worse_mechanism_takes_more_both_ways(efficiency: float, share: float) -> None:
    """Opening asks for more pressure, closing leaves less."""
    worse, better = (changed_unit("xv-1101", "actuator", efficiency=e).drive for e in (efficiency * 0.9, efficiency))
    for travel in (0.0, 0.3, 0.5, 0.8, 1.0):
        assert worse.moving_pa(travel, End.OPEN, share) > better.moving_pa(travel, End.OPEN, share)
        assert worse.moving_pa(travel, End.CLOSED, share) < better.moving_pa(travel, End.CLOSED, share)


def test_a_positive_cant_helps_the_open_end_only() -> None:
    """Margins of a canted arm: more at open, less at closed."""
    plain, canted = (changed_unit("xv-1101", "actuator", arm_cant_deg=degrees).drive for degrees in (0.0, 12.0))
    at_open = [drive.stem(1.0, 1000.0) for drive in (plain, canted)]
    at_closed = [drive.stem(0.0, 1000.0) for drive in (plain, canted)]
    assert at_open[1] > 1.3 * at_open[0]
    assert at_closed[1] < 0.85 * at_closed[0]

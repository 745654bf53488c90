"""Slotted arm, spring and friction against the torque table of XV-1101's data sheet (trade guide 10.2, computed)."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from commission.practice.condition import HEALTHY, Condition
from commission.practice.mechanism import Mechanism, NotServed
from commission.sheet import Sheet
from tests.practice.made import BDV, SHEET

# angle °, rod mm, spring kN, spring torque N·m, hydraulic torque N·m at 105 bar, bar to open at design and empty
TABLE = [
    (0.0, 0.0, 46.0, 12_510, 22_540, 65.9, 53.1),
    (22.5, 93.7, 56.0, 8_920, 11_620, 75.3, 61.9),
    (45.0, 160.0, 63.0, 8_570, 8_960, 85.5, 70.1),
    (60.0, 202.9, 67.6, 9_850, 8_940, 86.9, 72.6),
    (67.5, 226.3, 70.0, 11_160, 9_370, 86.7, 73.4),
    (90.0, 320.0, 80.0, 21_760, 13_290, 83.8, 75.4),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} degrees")
def test_the_torque_table_comes_out(sheet: Sheet, row: tuple[float, ...]) -> None:
    """Rod, spring, both torques and both opening pressures of each row, to the table's own rounding."""
    angle, rod_mm, spring_kn, spring_nm, hydraulic_nm, design_bar, empty_bar = row
    empty = Mechanism(sheet, HEALTHY)
    design = Mechanism(sheet, Condition(friction_factor=1 / 0.55))
    rod_m = empty.rod_m(angle / 90 * 100)
    torque_a_newton = empty.arm_m(rod_m) * 0.85
    spring_n = empty.spring_n(rod_m)
    assert rod_m * 1000 == pytest.approx(rod_mm, abs=0.06)
    assert spring_n / 1000 == pytest.approx(spring_kn, abs=0.06)
    assert spring_n * torque_a_newton == pytest.approx(spring_nm, rel=0.001)
    assert (105e5 * empty.piston_m2 - spring_n) * torque_a_newton == pytest.approx(hydraulic_nm, rel=0.001)
    assert design.pressing_pa(rod_m) / 1e5 == pytest.approx(design_bar, abs=0.1)
    assert empty.pressing_pa(rod_m) / 1e5 == pytest.approx(empty_bar, abs=0.1)


def test_swept_volume(sheet: Sheet) -> None:
    """Bore 125 mm and stroke 320 mm make 122.72 cm² and 3.927 L (trade guide 10.1)."""
    mechanism = Mechanism(sheet, HEALTHY)
    assert mechanism.piston_m2 * 1e4 == pytest.approx(122.72, abs=0.005)
    assert mechanism.piston_m2 * mechanism.stroke_m * 1000 == pytest.approx(3.927, abs=0.0005)


@given(st.floats(0.0, 100.0))
def test_travel_and_rod_undo_each_other(travel_pct: float) -> None:
    """Travel to rod and back is the same travel."""
    mechanism = Mechanism(SHEET, HEALTHY)
    assert mechanism.travel_pct(mechanism.rod_m(travel_pct)) == pytest.approx(travel_pct, abs=1e-9)


@given(st.floats(0.001, 0.319))
def test_arm_is_the_slope_of_rod_against_angle(rod_m: float) -> None:
    """The closed form of dx/dθ equals a numerical slope of the geometry itself."""
    mechanism = Mechanism(SHEET, HEALTHY)
    step_m = 1e-6
    turn_pct = mechanism.travel_pct(rod_m + step_m) - mechanism.travel_pct(rod_m - step_m)
    assert mechanism.arm_m(rod_m) == pytest.approx(2 * step_m / math.radians(turn_pct * 0.9), rel=1e-5)


@given(st.floats(0.0, 0.32))
def test_opening_needs_more_than_closing_leaves(rod_m: float) -> None:
    """Friction always opens a band between the two pressures."""
    mechanism = Mechanism(SHEET, HEALTHY)
    assert mechanism.pressing_pa(rod_m) > mechanism.yielding_pa(rod_m) > 0


def test_a_gear_without_radius_is_refused_by_name(sheet: Sheet) -> None:
    """What the motion follows from must be there; the message names the unit."""
    other = replace(sheet, actuator=replace(sheet.actuator, mechanism="rack and gear"))
    with pytest.raises(NotServed, match="XV-1101: the sheet needs gear_radius_mm"):
        Mechanism(other, HEALTHY)


def test_a_rack_turns_its_gear_evenly(sheet: Sheet) -> None:
    """Half the rod is half the angle, and the arm is the gear's radius everywhere."""
    actuator = replace(sheet.actuator, mechanism="rack and gear", gear_radius_mm=203.7)
    mechanism = Mechanism(replace(sheet, actuator=actuator), HEALTHY)
    assert mechanism.travel_pct(0.16) == pytest.approx(50.0)
    assert mechanism.arm_m(0.01) == mechanism.arm_m(0.3) == pytest.approx(0.2037)


@pytest.mark.parametrize(("travel_pct", "bar"), [(100.0, 27.0), (50.0, 43.0), (0.0, 62.0)])
def test_pressure_to_close_the_blowdown_valve(travel_pct: float, bar: float) -> None:
    """Oil closes BDV-3307: 27 bar at the start, 43 in the middle, 62 at the seat, empty (trade guide 10.3)."""
    mechanism = Mechanism(BDV, HEALTHY)
    assert not mechanism.opens
    assert mechanism.pressing_pa(mechanism.rod_m(travel_pct)) / 1e5 == pytest.approx(bar, rel=0.02)


def test_a_pressure_difference_loads_the_valve(sheet: Sheet) -> None:
    """At the design difference it needs the whole load of the table: 65.9 bar instead of 53.1 at breakaway."""
    loaded = Mechanism(sheet, Condition(difference_bar=72.4))
    assert loaded.pressing_pa(0.0) / 1e5 == pytest.approx(65.9, abs=0.1)
    loaded.friction.difference_bar = 0.0
    assert loaded.pressing_pa(0.0) / 1e5 == pytest.approx(53.1, abs=0.1)


def test_a_gall_is_felt_at_its_place_only(sheet: Sheet) -> None:
    """Twice the friction at 50 %, none of it 5 % further."""
    galled, sound = Mechanism(sheet, Condition(gall_factor=2.0)), Mechanism(sheet, HEALTHY)
    at_m, beyond_m = sound.rod_m(50.0), sound.rod_m(55.0)
    assert galled.friction_n(at_m, pressing=True) == pytest.approx(2 * sound.friction_n(at_m, pressing=True))
    assert galled.friction_n(beyond_m, pressing=True) == sound.friction_n(beyond_m, pressing=True)


def test_the_spring_takes_in_its_work(sheet: Sheet) -> None:
    """46 to 80 kN over 320 mm: 20.16 kJ."""
    assert Mechanism(sheet, HEALTHY).spring_j(0.32) == pytest.approx(63e3 * 0.32)


def test_missing_load_table_is_refused(sheet: Sheet) -> None:
    """Without the valve's load there is no friction to play."""
    with pytest.raises(NotServed, match="load table"):
        Mechanism(replace(sheet, valve=replace(sheet.valve, load=())), HEALTHY)

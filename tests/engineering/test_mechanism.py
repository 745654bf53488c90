"""Tests of slotted arm, rack and gear, and the direct drive: geometry, virtual work, round trips."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.mechanism import Direct, Mechanism, RackAndGear, SlottedArm

TRAVELS = st.floats(0.0, 1.0)
MECHANISMS: tuple[Mechanism, ...] = (
    SlottedArm(radius_m=0.16),
    SlottedArm(radius_m=0.12, cant_rad=math.radians(15)),
    SlottedArm(radius_m=0.2, cant_rad=math.radians(-12), swing_rad=math.radians(80)),
    RackAndGear(radius_m=0.08),
    Direct(stroke_m=0.165),
)


@pytest.mark.parametrize("mechanism", MECHANISMS)
@given(travel=TRAVELS)
def test_rod_and_travel_are_each_others_inverse(mechanism: Mechanism, travel: float) -> None:
    """Where the rod is says where the valve is, and back."""
    assert mechanism.travel_at(mechanism.rod_m(travel)) == pytest.approx(travel, abs=1e-9)
    assert mechanism.rod_m(0.0) == 0.0


@pytest.mark.parametrize("mechanism", MECHANISMS[:4])
@given(travel=st.floats(0.001, 0.999))
def test_the_arm_is_the_slope_of_the_rod_over_the_angle(mechanism: Mechanism, travel: float) -> None:
    """Virtual work: torque for each newton is dx/dθ, here by a central difference."""
    swing = mechanism.swing_rad if isinstance(mechanism, SlottedArm | RackAndGear) else math.nan
    step = 1e-5
    slope = (mechanism.rod_m(travel + step) - mechanism.rod_m(travel - step)) / (2 * step * swing)
    assert mechanism.arm_m(travel) == pytest.approx(slope, rel=1e-6)


@given(travel=TRAVELS)
def test_a_symmetric_arm_is_the_same_from_both_ends(travel: float) -> None:
    """Twice as long at the ends as in the middle; R/cos²(θ − 45°)."""
    arm = SlottedArm(radius_m=0.16)
    assert arm.arm_m(travel) == pytest.approx(arm.arm_m(1 - travel), rel=1e-9)
    assert arm.arm_m(0.0) == pytest.approx(2 * arm.arm_m(0.5), rel=1e-12)
    assert arm.rod_m(1.0) == pytest.approx(0.32, rel=1e-12)


def test_a_cant_moves_torque_from_one_end_to_the_other() -> None:
    """Positive cant: more at open, less at closed, and as much in the middle as the geometry gives."""
    plain, canted = SlottedArm(radius_m=0.16), SlottedArm(radius_m=0.16, cant_rad=math.radians(15))
    assert canted.arm_m(1.0) > 1.5 * plain.arm_m(1.0)
    assert canted.arm_m(0.0) < 0.8 * plain.arm_m(0.0)
    assert canted.arm_m(0.5) == pytest.approx(plain.arm_m(0.5), rel=1e-12)


def test_a_slot_along_the_rod_is_refused() -> None:
    """The arm would be infinitely long."""
    with pytest.raises(ValueError, match="85"):
        SlottedArm(radius_m=0.1, cant_rad=math.radians(41))


def test_a_gear_has_the_same_arm_everywhere() -> None:
    """90° on a radius of 40 mm is 62.832 mm of rack (π/2·r)."""
    gear = RackAndGear(radius_m=0.04)
    assert gear.rod_m(1.0) == pytest.approx(0.062832, abs=1e-6)
    assert gear.arm_m(0.1) == gear.arm_m(0.9) == 0.04
    assert Direct(stroke_m=0.1).arm_m(0.3) == 1.0

"""The oil of FCV-2204 against the figures of its data sheet (trade guide 10.1 and 10.3, computed there)."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from commission.practice.condition import Condition
from commission.practice.double_acting import DoubleActing
from commission.practice.mechanism import NotServed
from commission.practice.outlets import Ways
from commission.sheet import End
from tests.practice.made import FCV

STEP_S = 0.005
PUMP_M3_S = 3.6e-6 * 1745 / 60 * 0.95
CLOSING, OPENING = 1.0, -1.0


def standing(end: End = End.OPEN, bar: float = 85.0, **condition: float | None) -> DoubleActing:
    """At an end of travel, the accumulator at cut-in."""
    oil = DoubleActing(FCV, Condition(**condition))  # type: ignore[arg-type]  # names checked by Condition
    oil.start(end, bar * 1e5)
    return oil


def driven(oil: DoubleActing, spool: float, limit_s: float = 30.0, pump_m3_s: float = 0.0) -> float:
    """Seconds until the other end, or the limit."""
    end_m = oil.stroke_m if spool > 0 else 0.0
    for number in range(1, round(limit_s / STEP_S) + 1):
        oil.step(STEP_S, Ways(spool=spool, pump_m3_s=pump_m3_s, pumping=pump_m3_s > 0))
        if abs(oil.rod_m - end_m) < 1e-9:
            return number * STEP_S
    return limit_s


def filled(oil: DoubleActing, to_bar: float) -> float:
    """Seconds of pumping until the pump line stands at a pressure."""
    seconds = 0.0
    while oil.system_pa < to_bar * 1e5:
        oil.step(STEP_S, Ways(pump_m3_s=PUMP_M3_S, pumping=True))
        seconds += STEP_S
    return seconds


def test_swept_volumes() -> None:
    """0.382 L on the full bore, 0.305 L on the rod side."""
    oil = standing()
    assert oil.full.area_m2 * oil.stroke_m * 1000 == pytest.approx(0.382, abs=0.0005)
    assert oil.ring.area_m2 * oil.stroke_m * 1000 == pytest.approx(0.305, abs=0.0005)


@pytest.mark.parametrize("spool", [CLOSING, OPENING])
def test_strokes_take_eight_seconds(spool: float) -> None:
    """8.0 s each way by the flow controls, whatever the load."""
    oil = standing(End.OPEN if spool > 0 else End.CLOSED, 105.0)
    assert driven(oil, spool) == pytest.approx(8.0, rel=0.02)


@pytest.mark.parametrize("spool", [CLOSING, OPENING])
def test_steps_of_any_length_agree(spool: float) -> None:
    """A stroke by steps of 5 and of 40 ms takes the same time and the same oil."""
    taken = []
    for step_s in (0.005, 0.04):
        oil = standing(End.OPEN if spool > 0 else End.CLOSED, 105.0)
        for _ in range(round(4.0 / step_s)):
            oil.step(step_s, Ways(spool=spool))
        taken.append((oil.travel_pct, oil.bladder.stored_m3))
    assert taken[0] == pytest.approx(taken[1], rel=0.01)


def test_an_emergency_stroke_leaves_enough_to_seat() -> None:
    """From cut-in, pump off: 85 to 77 bar, 38.8 kN at the end for 31 kN needed."""
    oil = standing(End.OPEN, 85.0, difference_bar=30.0)
    assert driven(oil, CLOSING) == pytest.approx(8.0, rel=0.02)
    assert oil.system_pa / 1e5 == pytest.approx(77.2, rel=0.02)
    for _ in range(20):
        oil.step(STEP_S, Ways(spool=CLOSING))
    thrust_n = oil.pressure_pa * oil.full.area_m2
    assert thrust_n == pytest.approx(38_800, rel=0.02)
    assert thrust_n / 31_000 == pytest.approx(1.25, rel=0.02)


def test_charging_times() -> None:
    """Empty to cut-out 16.2 s, cut-in to cut-out 10.3 s; with 50 bar of nitrogen 31 s and 6.7 s (trade guide 10.6)."""
    assert filled(standing(bar=0.0), 105.0) == pytest.approx(16.2, rel=0.02)
    assert filled(standing(bar=85.0), 105.0) == pytest.approx(10.3, rel=0.02)
    assert filled(standing(bar=0.0, precharge_bar=50.0), 105.0) == pytest.approx(31.0, rel=0.02)
    assert filled(standing(bar=85.0, precharge_bar=50.0), 105.0) == pytest.approx(6.7, rel=0.02)


@pytest.mark.parametrize(("precharge_bar", "an_hour"), [(None, 1.7), (50.0, 2.5)])
def test_starts_at_the_same_duty(precharge_bar: float | None, an_hour: float) -> None:
    """Five full strokes an hour, a tenth at a time: 1.7 starts, and 2.5 with nitrogen lost (trade guide 10.6)."""
    oil = standing(bar=105.0, precharge_bar=precharge_bar)
    starts = 0
    for number in range(400):
        for _ in range(20):
            oil.step(0.04, Ways(spool=OPENING if number % 2 else CLOSING))
        oil.step(71.2, Ways())
        if oil.system_pa <= 85e5:
            starts += 1
            filled(oil, 105.0)
    assert starts / 8.0 == pytest.approx(an_hour, abs=0.13)


def test_without_nitrogen_the_emergency_stroke_collapses() -> None:
    """Precharge lost: the speed collapses in mid-stroke (trade guide 3.4, 33)."""
    oil = standing(End.OPEN, 85.0, precharge_bar=0.0)
    assert driven(oil, CLOSING, limit_s=12.0) == 12.0
    assert 0.0 < oil.rod_m < 0.5 * oil.stroke_m


def test_a_shut_cylinder_holds() -> None:
    """The valve centred in mid-stroke, nothing moves for an hour; the pump works on the accumulator alone."""
    oil = standing(End.OPEN, 105.0)
    for _ in range(600):
        oil.step(STEP_S, Ways(spool=CLOSING))
    at_m = oil.rod_m
    for _ in range(600):
        oil.step(6.0, Ways())
    assert oil.rod_m == pytest.approx(at_m, abs=1e-5)


def test_a_leaking_seal_shows_on_the_other_side() -> None:
    """Pressure appears on side B and the two equalise (trade guide 3.4, 8)."""
    oil = standing(End.OPEN, 105.0, seal_leak_ml_h=3600.0)
    driven(oil, CLOSING)
    for _ in range(100):
        oil.step(STEP_S, Ways(spool=CLOSING))
    before_pa = oil.pressure_pa
    for _ in range(6000):
        oil.step(STEP_S, Ways())
    assert oil.pressure_pa < 0.9 * before_pa
    assert oil.pressure_b_pa > 5e5


def test_more_difference_than_the_sheet_stalls_it() -> None:
    """Three times the design difference: it does not leave the seat at cut-in (trade guide 3.4, 13)."""
    oil = standing(End.CLOSED, 85.0, difference_bar=90.0)
    assert driven(oil, OPENING, limit_s=12.0) == 12.0
    assert oil.rod_m == pytest.approx(oil.stroke_m)
    assert oil.pressure_b_pa == pytest.approx(oil.system_pa, rel=0.01)


def test_relief_carries_the_whole_pump() -> None:
    """With the accumulator shut off as well, the pump line stays near the relief's 130 bar."""
    for isolated in (False, True):
        oil = standing(bar=105.0)
        oil.isolate_accumulator(isolated)
        for _ in range(6000):
            oil.step(STEP_S, Ways(pump_m3_s=PUMP_M3_S, pumping=True))
        assert 128.0 < oil.system_pa / 1e5 < 140.0


def test_hand_pump_builds_pressure() -> None:
    """Short of 40 bar by so much oil; pumped in, there it stands, and its own line with it."""
    oil = standing(bar=0.0)
    short_m3 = oil.short_of_m3(40e5)
    assert short_m3 > 0.0
    oil.step(1.0, Ways(hand_m3_s=short_m3))
    assert oil.system_pa == pytest.approx(40e5, rel=0.01)
    oil.step(STEP_S, Ways(hand_m3_s=1e-9))
    assert oil.hand_pa == pytest.approx(40e5, rel=0.01)
    oil.step(STEP_S, Ways(hand_bleed=1.0, accumulator_bleed=1.0))
    assert oil.hand_pa == 0.0


def test_bleeds_bring_every_gauge_to_zero() -> None:
    """Both sides and the accumulator, each by its own bleed, in three minutes."""
    oil = standing(End.OPEN, 105.0)
    driven(oil, CLOSING)
    for _ in range(3600):
        oil.step(0.05, Ways(cylinder_bleed=1.0, cylinder_b_bleed=1.0, accumulator_bleed=1.0))
    assert oil.pressure_pa == oil.pressure_b_pa == 0.0
    assert oil.accumulator_pa < 1e4


def test_warmth_acts_on_trapped_oil_and_nitrogen() -> None:
    """Ten degrees: the shut cylinder's pressure moves by the 10 bar a degree of trapped oil until it finds the edge."""
    oil = standing(End.OPEN, 105.0)
    for _ in range(600):
        oil.step(STEP_S, Ways(spool=CLOSING))
    before_pa, precharge_pa, oil_m3 = oil.pressure_b_pa, oil.precharge_pa, oil.oil_m3
    oil.warm(30.0)
    assert oil.pressure_b_pa > before_pa
    assert oil.precharge_pa == pytest.approx((precharge_pa + 101_325) * 303.15 / 293.15 - 101_325)
    assert oil.oil_m3 == pytest.approx(oil_m3, rel=1e-12)


ways = st.builds(
    Ways,
    pump_m3_s=st.sampled_from([0.0, PUMP_M3_S]),
    hand_m3_s=st.sampled_from([0.0, 5e-6]),
    spool=st.sampled_from([-1.0, 0.0, 0.3, 1.0]),
    cylinder_bleed=st.sampled_from([0.0, 0.06, 1.0]),
    cylinder_b_bleed=st.sampled_from([0.0, 1.0]),
    accumulator_bleed=st.sampled_from([0.0, 0.06, 1.0]),
    hand_bleed=st.sampled_from([0.0, 1.0]),
)


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(list(End)),
    st.lists(st.tuples(ways, st.integers(1, 200), st.booleans(), st.floats(-20.0, 40.0)), max_size=8),
    st.sampled_from([0.0, 20_000.0]),
)
def test_no_oil_is_made_or_lost(end: End, story: list[tuple[Ways, int, bool, float]], leak_ml_h: float) -> None:
    """Whatever opens, shuts, leaks and warms in whatever order, all oil together stays the same to rounding."""
    oil = standing(end, 105.0, external_leak_ml_h=leak_ml_h, seal_leak_ml_h=leak_ml_h)
    before_m3 = oil.oil_m3
    for open_ways, steps, isolated, celsius in story:
        oil.isolate_accumulator(isolated)
        oil.warm(celsius)
        for _ in range(steps):
            oil.step(STEP_S, open_ways)
        assert 0.0 <= oil.rod_m <= oil.stroke_m
        assert min(oil.pressure_pa, oil.pressure_b_pa, oil.system_pa, oil.accumulator_pa) >= 0.0
    assert oil.oil_m3 == pytest.approx(before_m3, rel=1e-12)


def test_sheet_without_flow_controls_is_refused() -> None:
    """What cannot be played is said with the unit's tag."""
    with pytest.raises(NotServed, match="FCV-2204: the sheet needs accumulator and both flow controls"):
        DoubleActing(replace(FCV, orifices=replace(FCV.orifices, opening_flow_l_min=None)), Condition())

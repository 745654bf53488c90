"""The strokes of XV-1101 against the reference curves of its data sheet (trade guide 10.3 and 3.3, computed there)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from commission.practice.condition import Condition
from commission.practice.hydraulics import Hydraulics
from commission.practice.mechanism import Mechanism, NotServed
from commission.practice.outlets import Ways
from commission.sheet import Sheet
from tests.practice.made import SHEET

STEP_S = 0.01
PUMP_M3_S = 1.0e-6 * 1750 / 60 * 0.92


def hydraulics(sheet: Sheet, **condition: float) -> Hydraulics:
    """The oil of a unit with planted findings."""
    found = Condition(**condition)  # type: ignore[arg-type]  # names checked by Condition
    return Hydraulics(sheet, found, Mechanism(sheet, found))


def stroke(oil: Hydraulics, ways: Ways, seconds: float) -> np.ndarray:
    """Time, travel % and pressure bar of a stroke, from the last instant before motion."""
    rows: list[tuple[float, float, float]] = []
    start_pct, still_s = oil.travel_pct, 0.0
    for number in range(1, round(seconds / STEP_S) + 1):
        before = (oil.travel_pct, oil.pressure_pa)
        oil.step(STEP_S, ways)
        if abs(oil.travel_pct - start_pct) < 1e-6:
            still_s = number * STEP_S
        elif not rows:
            rows.append((0.0, before[0], before[1] / 1e5))
        if rows:
            rows.append((number * STEP_S - still_s, oil.travel_pct, oil.pressure_pa / 1e5))
    return np.array(rows)


def opened(sheet: Sheet, **condition: float) -> Hydraulics:
    """A unit that stands open at cut-out pressure."""
    oil = hydraulics(sheet, **condition)
    oil.set_state(oil.mechanism.stroke_m, 125e5, 0.0)
    return oil


def when(curve: np.ndarray, travel_pct: float) -> tuple[float, float]:
    """Seconds and bar at which a curve passes a travel."""
    falling = curve[0, 1] > curve[-1, 1]
    index = int(np.argmax(curve[:, 1] <= travel_pct if falling else curve[:, 1] >= travel_pct))
    return float(curve[index, 0]), float(curve[index, 2])


def test_opening_curve(sheet: Sheet) -> None:
    """Pump-driven opening: the S-curve of the guide, each point within 2 % of the whole stroke of 146.3 s."""
    seconds = [0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120, 130, 140, 146.3]
    percent = [0, 4.7, 10.0, 16.1, 22.9, 30.5, 38.7, 47.2, 55.9, 64.4, 72.4, 79.7, 86.2, 92.0, 97.1, 100]
    curve = stroke(hydraulics(sheet), Ways(pump_m3_s=PUMP_M3_S), 152.0)
    for second, travel in zip(seconds[1:], percent[1:], strict=True):
        assert when(curve, travel - 1e-6)[0] == pytest.approx(second, abs=0.02 * 146.3)
    assert when(curve, 100 - 1e-6)[0] == pytest.approx(146.3, rel=0.02)


def test_closing_curve(sheet: Sheet) -> None:
    """Spring closing through the orifice: 8.00 s, each point within 2 % of it, pressures within 2 bar."""
    points = [
        (90, 0.91, 48.0), (80, 1.67, 44.0), (70, 2.34, 39.9), (60, 2.98, 36.6), (50, 3.61, 34.2),
        (40, 4.26, 32.2), (30, 4.96, 30.8), (20, 5.76, 29.1), (10, 6.73, 27.0),
    ]  # fmt: skip
    curve = stroke(opened(sheet), Ways(dump_open=True), 10.0)
    for travel, second, bar in points:
        at_s, at_bar = when(curve, travel)
        assert at_s == pytest.approx(second, abs=0.02 * 8.0)
        assert at_bar == pytest.approx(bar, abs=2.0)
    assert when(curve, 1e-6)[0] == pytest.approx(8.0, rel=0.02)
    assert curve[1, 2] == pytest.approx(53.5, abs=0.5)
    assert when(curve, 0.5)[1] == pytest.approx(25.0, abs=0.5)


def test_partial_curve(sheet: Sheet) -> None:
    """Partial stroke through the bleed: 15 % in 10.0 s, pressures of the guide within 2 bar."""
    points = [(98, 1.5, 52.2), (96, 3.0, None), (94, 4.4, None), (92, 5.7, None), (90, 7.0, 48.0), (86, 9.4, None)]
    curve = stroke(opened(sheet), Ways(partial_open=True), 14.0)
    for travel, second, bar in points:
        at_s, at_bar = when(curve, travel)
        assert at_s == pytest.approx(second, abs=0.2)
        assert bar is None or at_bar == pytest.approx(bar, abs=2.0)
    assert when(curve, 85)[0] == pytest.approx(10.0, rel=0.02)
    assert when(curve, 85)[1] == pytest.approx(46.1, abs=2.0)


@pytest.mark.parametrize(
    ("condition", "close_s", "partial_s", "start_bar", "within"),
    [
        ({"friction_factor": 1.45}, 8.97, 10.65, 48.2, 0.02),
        ({"friction_factor": 2.0}, 10.9, 11.6, 41.8, 0.03),
        ({"friction_factor": 2.5}, 14.9, 12.8, 35.9, 0.04),
        ({"spring_factor": 0.9}, 8.65, 10.7, 47.0, 0.02),
        ({"spring_factor": 0.8}, 9.49, 11.6, 40.5, 0.02),
        ({"orifice_factor": 0.7}, 11.4, 14.3, 53.5, 0.02),
        ({"return_back_pressure_bar": 5.0}, 8.67, 10.55, 53.5, 0.02),
    ],
    ids=lambda value: "-".join(value) if isinstance(value, dict) else "",
)
def test_what_time_alone_hides(
    sheet: Sheet, condition: dict[str, float], close_s: float, partial_s: float, start_bar: float, within: float
) -> None:
    """
    Each fault of the guide's table 3.3 gives its two times and its pressure.

    The steeper rows are wider: the oil that the falling pressure gives back is in the unit and not in the table. With
    back pressure the table subtracts those 5 bar from the cylinder's; a gauge on the cylinder does not show that.
    """
    closing = stroke(opened(sheet, **condition), Ways(dump_open=True), 20.0)
    partial = stroke(opened(sheet, **condition), Ways(partial_open=True), 20.0)
    assert when(closing, 1e-6)[0] == pytest.approx(close_s, rel=within)
    assert when(partial, 85)[0] == pytest.approx(partial_s, rel=0.035)
    assert closing[1, 2] == pytest.approx(start_bar, abs=1.0)


def test_too_much_friction_stops_the_spring(sheet: Sheet) -> None:
    """At 3.1 times the friction the spring does not finish (trade guide 3.3)."""
    curve = stroke(opened(sheet, friction_factor=3.1), Ways(dump_open=True), 60.0)
    assert 1.0 < curve[-1, 1] < 90.0


def test_free_air_costs_dead_time_only(sheet: Sheet) -> None:
    """100 mL of free air add about 3.5 s before motion and leave the traverse alone (trade guide 3.3)."""
    times = []
    for air_ml in (0.0, 100.0):
        oil = hydraulics(sheet, free_air_ml=air_ml)
        number = 0
        while oil.travel_pct < 1e-6:
            oil.step(STEP_S, Ways(pump_m3_s=PUMP_M3_S))
            number += 1
        times.append(number * STEP_S)
    assert times[1] - times[0] == pytest.approx(3.5, abs=0.2)


def test_relief_carries_the_whole_pump(sheet: Sheet) -> None:
    """Run against the stop for a minute, pressure stays within 3 bar of the relief's 140 bar."""
    oil = opened(sheet)
    for _ in range(6000):
        oil.step(STEP_S, Ways(pump_m3_s=PUMP_M3_S))
    assert 140.0 < oil.pressure_pa / 1e5 < 143.0


def test_tank_swing(sheet: Sheet) -> None:
    """From closed and empty to open at cut-out the tank gives 4.05 L (trade guide 10.1)."""
    closed = hydraulics(sheet)
    assert (closed.tank_m3 - opened(sheet).tank_m3) * 1000 == pytest.approx(4.05, abs=0.05)


def test_isolated_accumulator_keeps_its_pressure(sheet: Sheet) -> None:
    """Its ball valve shut, the accumulator holds 125 bar while the cylinder is dumped, until its own bleed opens."""
    oil = opened(sheet)
    before_m3 = oil.oil_m3
    oil.isolate_accumulator(True)
    for _ in range(1500):
        oil.step(STEP_S, Ways(dump_open=True))
    assert oil.travel_pct == pytest.approx(0.0, abs=1e-6)
    assert oil.pressure_pa == 0.0
    assert oil.accumulator_pa / 1e5 == pytest.approx(125.0)
    for _ in range(500):
        oil.step(STEP_S, Ways(accumulator_bleed=1.0))
    assert oil.accumulator_pa < 1e4
    assert oil.oil_m3 == pytest.approx(before_m3, rel=1e-12)


def test_steps_of_any_length_agree(sheet: Sheet) -> None:
    """Halving the step moves the closing time by less than 0.02 s."""
    times = []
    for step_s in (0.01, 0.005):
        oil, seconds = opened(sheet), 0.0
        while oil.travel_pct > 1e-6:
            oil.step(step_s, Ways(dump_open=True))
            seconds += step_s
        times.append(seconds)
    assert times[0] == pytest.approx(times[1], abs=0.02)


ways = st.builds(
    Ways,
    pump_m3_s=st.sampled_from([0.0, PUMP_M3_S]),
    hand_m3_s=st.sampled_from([0.0, 5e-6]),
    dump_open=st.booleans(),
    partial_open=st.booleans(),
    cylinder_bleed=st.sampled_from([0.0, 0.06, 1.0]),
    accumulator_bleed=st.sampled_from([0.0, 0.06, 1.0]),
    hand_bleed=st.sampled_from([0.0, 0.06, 1.0]),
)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["open", "closed"]), st.lists(st.tuples(ways, st.integers(1, 200), st.booleans()), max_size=8))
def test_no_oil_is_made_or_lost(start: str, story: list[tuple[Ways, int, bool]]) -> None:
    """Whatever opens and shuts in whatever order: all oil, and all energy, is accounted for to rounding."""
    sheet = SHEET
    oil = opened(sheet) if start == "open" else hydraulics(sheet)
    before_m3, before_j = oil.oil_m3, oil.energy_j
    for open_ways, steps, isolated in story:
        oil.isolate_accumulator(isolated)
        for _ in range(steps):
            oil.step(STEP_S, open_ways)
        assert 0.0 <= oil.rod_m <= oil.mechanism.stroke_m
        assert oil.pressure_pa >= 0.0
    assert oil.oil_m3 == pytest.approx(before_m3, rel=1e-12)
    turned_over_j = 1.0 + before_j + oil.ledger.pumped_j
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < 1e-9 * turned_over_j


@pytest.mark.parametrize("steps", [20, 21, 22, 30, 50])
def test_opening_the_accumulator_again_loses_no_energy(sheet: Sheet, steps: int) -> None:
    """The rod leaps, and on its way the pressure falls below the precharge: from there the nitrogen gives no more."""
    oil = opened(sheet)
    before_j = oil.energy_j
    oil.isolate_accumulator(True)
    for _ in range(steps):
        oil.step(STEP_S, Ways(dump_open=True))
    oil.isolate_accumulator(False)
    assert abs(oil.ledger.open_j(oil.energy_j - before_j)) < 1e-9 * before_j


def test_sheet_without_accumulator_is_refused(sheet: Sheet) -> None:
    """What cannot be played is said with the unit's tag."""
    with pytest.raises(NotServed, match="accumulator"):
        hydraulics(replace(sheet, accumulator=None))


def test_trapped_oil_gains_ten_bar_a_degree(sheet: Sheet) -> None:
    """Without nitrogen 9.8 bar a degree (trade guide 4.13); with it, far less; the oil is the same either way."""
    gained = {}
    for name, condition in (("lost", {"precharge_bar": 0.0}), ("sound", {})):
        oil = hydraulics(sheet, free_air_ml=0.0, **condition)
        oil.set_state(oil.mechanism.stroke_m, 100e5, 0.0)
        before_m3 = oil.oil_m3
        oil.warm(21.0)
        gained[name] = oil.pressure_pa / 1e5 - 100.0
        assert oil.oil_m3 == pytest.approx(before_m3, rel=1e-13)
    assert gained["lost"] == pytest.approx(9.8, rel=0.03)
    assert gained["sound"] < 2.0


def test_a_check_valve_leaks_only_while_the_pump_stands(sheet: Sheet) -> None:
    """With the motor turning no oil runs back through the pump."""
    fallen = {}
    for pumping in (False, True):
        oil = opened(sheet, check_leak_ml_h=20_000.0)
        for _ in range(500):
            oil.step(STEP_S, Ways(pumping=pumping))
        fallen[pumping] = 125.0 - oil.pressure_pa / 1e5
    assert fallen[False] > 5.0
    assert fallen[True] == pytest.approx(0.0, abs=1e-6)


def test_what_leaks_out_is_gone_from_the_tank(sheet: Sheet) -> None:
    """An external leak lowers what the unit holds by what lies on the ground, and by nothing else."""
    oil = opened(sheet, external_leak_ml_h=36_000.0)
    before_m3, held_m3 = oil.oil_m3, oil.tank_m3 + oil.cylinder_m3
    for _ in range(1000):
        oil.step(STEP_S, Ways())
    assert oil.spilled_m3 == pytest.approx(1e-4, rel=0.2)
    assert held_m3 - oil.tank_m3 - oil.cylinder_m3 == pytest.approx(oil.spilled_m3, rel=1e-9)
    assert oil.oil_m3 == pytest.approx(before_m3, rel=1e-12)


def test_cold_oil_loses_pressure_on_its_way_home(sheet: Sheet) -> None:
    """The spring stroke of a unit at -40 °C takes longer than at 20 °C through the same orifice; warm, no shorter."""
    times = {}
    for celsius in (20.0, 40.0, -40.0):
        oil, seconds = opened(sheet), 0.0
        oil.thicken(celsius)
        while oil.travel_pct > 1e-6 and seconds < 40.0:
            oil.step(STEP_S, Ways(dump_open=True))
            seconds += STEP_S
        times[celsius] = seconds
    assert times[40.0] == pytest.approx(times[20.0], rel=0.01)
    assert times[-40.0] > 1.3 * times[20.0]


def test_an_empty_tank_gives_nothing(sheet: Sheet) -> None:
    """All oil missing: the pump turns, the valve stands."""
    oil = hydraulics(sheet, oil_missing_l=11.0)
    for _ in range(500):
        oil.step(STEP_S, Ways(pump_m3_s=PUMP_M3_S, pumping=True))
    assert oil.travel_pct == pytest.approx(0.0, abs=1e-9)
    assert oil.pressure_pa == 0.0

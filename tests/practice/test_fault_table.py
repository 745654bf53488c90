"""Each fault moves what the trade says it moves, in the direction and size of trade guide 3.3 and 3.4."""

from itertools import pairwise

import pytest
from msgspec.structs import replace

from commission.practice.condition import HEALTHY
from commission.practice.device import Device, TableName
from commission.practice.double_acting import DoubleActing
from commission.practice.faults import FAULTS, faults_of, with_fault
from commission.practice.orders import Order
from commission.practice.outlets import Ways
from commission.practice.site import SiteDesk
from commission.practice.unit import PracticeUnit
from commission.sheet import End, Point, Sheet
from tests.practice.made import BDV, FCV, SHEET, SHEETS, wait

LEISURELY = replace(SHEET, link=replace(SHEET.link, scan_s=0.2))
"""Scanned five times a second: enough for leaks."""


def faulty(sheet: Sheet, start: str, **faults: float) -> PracticeUnit:
    """A unit with faults by name, hyphens as underscores."""
    condition = HEALTHY
    for name, severity in faults.items():
        condition = with_fault(condition, sheet, name.replace("_", "-"), severity)
    return PracticeUnit(sheet, condition=condition, start=End(start), seed=3)


class Stroke:
    """
    What a technician sees of a stroke.

    Args:
        unit: The unit, away from its spring's end, or at it.

        order: What to do.

        limit_s: How long to wait.
    """

    def __init__(self, unit: PracticeUnit, order: Order, limit_s: float = 300.0) -> None:
        begun_s, start_pct = unit.now_s, unit.truth().travel_pct
        unit.order(order, remote=True)
        self.dead_s = self.home_s = self.most_bar = self.most_a = 0.0
        self.start_bar = unit.truth().pressure_bar
        self.places: list[tuple[float, float]] = []
        while unit.now_s - begun_s < limit_s and not self.home_s:
            unit.advance(0.05)
            truth, seconds = unit.truth(), unit.now_s - begun_s
            self.most_bar = max(self.most_bar, truth.pressure_bar)
            self.most_a = max(self.most_a, unit.electrics.motor_a) if seconds > 2.0 else 0.0
            if not self.dead_s and abs(truth.travel_pct - start_pct) > 0.2:
                self.dead_s, self.start_bar = seconds, truth.pressure_bar
            self.places.append((truth.travel_pct, truth.pressure_bar))
            home = truth.closed_limit if order is Order.CLOSE else truth.open_limit
            if home and self.dead_s:
                self.home_s = seconds

    def bar_at(self, travel_pct: float) -> float:
        """Cylinder pressure nearest to a travel."""
        return min(self.places, key=lambda place: abs(place[0] - travel_pct))[1]

    def between_s(self, low_pct: float, high_pct: float) -> float:
        """Seconds from one travel to another."""
        return 0.05 * sum(low_pct < travel < high_pct for travel, _ in self.places)


def closing(limit_s: float = 40.0, **faults: float) -> Stroke:
    """The spring stroke of XV-1101."""
    return Stroke(faulty(SHEET, "open", **faults), Order.CLOSE, limit_s)


def opening(limit_s: float = 260.0, **faults: float) -> Stroke:
    """The pump stroke of XV-1101."""
    return Stroke(faulty(SHEET, "closed", **faults), Order.OPEN, limit_s)


@pytest.fixture(scope="module")
def sound() -> tuple[Stroke, Stroke]:
    """Closing and opening of a sound XV-1101."""
    return closing(), opening()


def test_tight_packing_is_seen_by_pressure_both_ways(sound: tuple[Stroke, Stroke]) -> None:
    """Friction ×1.45: 12 % slower closing, 5 bar lower closing, higher opening: the one pair that says packing."""
    tight = closing(tight_packing=0.3)
    assert tight.home_s / sound[0].home_s == pytest.approx(8.97 / 8.0, rel=0.02)
    assert tight.start_bar - sound[0].start_bar == pytest.approx(48.2 - 53.5, abs=1.0)
    assert opening(30.0, tight_packing=0.3).bar_at(5.0) > sound[1].bar_at(5.0) + 5.0


def test_a_weak_spring_lowers_pressure_both_ways(sound: tuple[Stroke, Stroke]) -> None:
    """Spring -20 %: closing 9.49 s and 13 bar lower; opening lower too, where packing would be higher."""
    weak = closing(weak_spring=0.4)
    assert weak.home_s / sound[0].home_s == pytest.approx(9.49 / 8.0, rel=0.02)
    assert weak.start_bar - sound[0].start_bar == pytest.approx(40.5 - 53.5, abs=1.0)
    assert opening(30.0, weak_spring=0.4).bar_at(5.0) < sound[1].bar_at(5.0) - 5.0


def test_a_needle_moves_time_and_no_pressure(sound: tuple[Stroke, Stroke]) -> None:
    """Area -30 %: 11.4 s, the same pressure."""
    needle = closing(needle_closed=1 / 3)
    assert needle.home_s / sound[0].home_s == pytest.approx(11.4 / 8.0, rel=0.02)
    assert needle.start_bar == pytest.approx(sound[0].start_bar, abs=0.7)


def test_a_clogged_return_slows_the_spring(sound: tuple[Stroke, Stroke]) -> None:
    """5 bar behind the dump: 8.67 s."""
    assert closing(return_clogged=0.25).home_s / sound[0].home_s == pytest.approx(8.67 / 8.0, rel=0.02)


def test_cold_and_wrong_oil_slow_the_spring_most(sound: tuple[Stroke, Stroke]) -> None:
    """At -40 °C, or with oil ten times as thick, the spring stroke is slower; the pump stroke hardly notices."""
    assert closing(cold_oil=1.0).home_s > 1.5 * sound[0].home_s
    assert closing(wrong_oil=0.5).home_s > 1.25 * sound[0].home_s
    assert opening(wrong_oil=0.1).home_s == pytest.approx(sound[1].home_s, rel=0.05)


def test_air_costs_dead_time() -> None:
    """90 mL more: 3 s more until it moves, and the traverse as before."""
    strokes = []
    for severity in (0.0, 90 / 190):
        unit = faulty(SHEET, "closed", air_in_oil=severity)
        unit.side.bleeds["BV-1"] = 1.0
        unit.advance(5.0)
        unit.side.bleeds["BV-1"] = 0.0
        strokes.append(Stroke(unit, Order.OPEN))
    plain, airy = strokes
    assert airy.dead_s - plain.dead_s == pytest.approx(3.2, abs=0.3)
    assert airy.home_s - airy.dead_s == pytest.approx(plain.home_s - plain.dead_s, rel=0.01)


def test_a_worn_pump_is_evenly_slow(sound: tuple[Stroke, Stroke]) -> None:
    """Volumetric efficiency 0.70: 192 s for 146; current no higher."""
    worn_pump = opening(worn_pump=0.5)
    assert worn_pump.home_s == pytest.approx(192.0, rel=0.03)
    assert worn_pump.most_a <= sound[1].most_a * 1.02


def test_low_supply_slows_the_pump_in_proportion(sound: tuple[Stroke, Stroke]) -> None:
    """20.7 V of a rated 24: 169 s."""
    assert opening(low_supply=0.375).home_s / sound[1].home_s == pytest.approx(24.0 / (24.37 * 0.85), rel=0.02)


def test_a_low_relief_stops_at_a_load() -> None:
    """Relief at 70 bar: it stalls where 70 bar are needed, empty, and the pressure stands there."""
    unit = faulty(SHEET, "closed", relief_low=1.0)
    stroke = Stroke(unit, Order.OPEN, 120.0)
    assert not stroke.home_s
    assert 40.0 < unit.truth().travel_pct < 70.0
    assert stroke.most_bar == pytest.approx(70.0, abs=3.0)


def test_leaks_start_the_motor_again() -> None:
    """Dump, check and external leaks each bring restarts; only the last lowers the level, none moves a sound unit."""
    restarts = {}
    for name in ("dump-leaking", "check-valve-leaking", "external-leak", ""):
        condition = with_fault(HEALTHY, SHEET, name, 0.5) if name else HEALTHY
        unit = PracticeUnit(LEISURELY, condition=condition, start=End.OPEN, seed=1)
        before, level_l = unit.starts_total, unit.truth().tank_l
        unit.advance(900.0)
        restarts[name] = (unit.starts_total - before, unit.truth().tank_l - level_l)
    assert all(restarts[name][0] >= 2 for name in ("dump-leaking", "check-valve-leaking", "external-leak"))
    assert restarts["external-leak"][1] < -0.1
    assert abs(restarts["dump-leaking"][1]) < 0.1
    assert restarts[""][0] == 0


def test_an_open_bypass_lets_it_go_nowhere() -> None:
    """The pump's whole flow goes back at little pressure: no motion, time-out."""
    unit = faulty(SHEET, "closed", bypass_open=1.0)
    assert not Stroke(unit, Order.OPEN, 60.0).dead_s
    assert unit.truth().pump_on


def test_low_fluid_stops_it_on_the_way() -> None:
    """3 L missing: it starts, then the level switch stops the pump before the open end."""
    unit = faulty(SHEET, "closed", low_fluid=3 / 11)
    assert not Stroke(unit, Order.OPEN, 200.0).home_s
    assert 10.0 < unit.truth().travel_pct < 95.0
    assert "alarm_fluid" in unit.truth().alarms


def test_a_slow_solenoid_is_dead_time_without_pressure_change(sound: tuple[Stroke, Stroke]) -> None:
    """2 s of it: the pressure stands for 2 s, then the stroke is as ever."""
    slow = closing(slow_solenoid=0.4)
    assert slow.dead_s - sound[0].dead_s == pytest.approx(2.0, abs=0.1)
    assert slow.places[30][1] == pytest.approx(125.0, abs=0.5)


def test_a_held_solenoid_does_not_close_it() -> None:
    """ESD, and it holds."""
    unit = faulty(SHEET, "open", solenoid_held=1.0)
    unit.side.esd_button_pressed = True
    unit.advance(20.0)
    assert unit.truth().travel_pct == pytest.approx(100.0)
    assert unit.truth().tripped


def test_stick_slip_is_a_staircase() -> None:
    """The travel of the pump stroke stands still between jumps, and the pressure is a saw."""
    unit = faulty(SHEET, "closed", stick_slip=1.0, air_in_oil=0.5)
    stroke = Stroke(unit, Order.OPEN, 60.0)
    moved = [later[0] - earlier[0] for earlier, later in pairwise(stroke.places)]
    assert sum(step == 0.0 for step in moved[400:]) > 0.2 * len(moved[400:])
    saw_bar = [earlier[1] - later[1] for earlier, later in pairwise(stroke.places[400:])]
    assert sum(drop > 8.0 for drop in saw_bar) > 50


def test_a_gall_is_at_its_place(sound: tuple[Stroke, Stroke]) -> None:
    """More pressure to open at 50 %, none more at 30 %."""
    galled = opening(120.0, galled_valve=0.5)
    assert galled.bar_at(50.0) > sound[1].bar_at(50.0) + 5.0
    assert galled.bar_at(30.0) == pytest.approx(sound[1].bar_at(30.0), abs=0.5)


def test_more_difference_than_designed_stalls_it() -> None:
    """Five times the design's difference: at cut-out pressure it stands in mid-travel, past breakaway."""
    unit = faulty(SHEET, "closed", more_difference=1.0)
    assert not Stroke(unit, Order.OPEN, 120.0).home_s
    assert unit.truth().travel_pct < 90.0
    assert unit.truth().pressure_bar > 124.0


def test_a_sheared_stem_strokes_perfectly_with_the_valve_still(sound: tuple[Stroke, Stroke]) -> None:
    """The sensor says closed, the stem mark says open, friction is gone from the pressures."""
    unit = faulty(SHEET, "open", stem_sheared=1.0)
    stroke = Stroke(unit, Order.CLOSE, 20.0)
    assert stroke.home_s < sound[0].home_s
    assert unit.truth().stem_pct == pytest.approx(100.0)
    assert stroke.start_bar > sound[0].start_bar + 5.0


def test_a_limit_set_early_says_home_before_it_is() -> None:
    """Closed at 10 % of travel."""
    unit = faulty(SHEET, "open", limit_early=0.9)
    Stroke(unit, Order.CLOSE, 20.0)
    assert unit.truth().travel_pct > 8.0


def test_sensor_faults_are_read_not_felt() -> None:
    """Offset, noise and a worn track change the reading; the truth stays."""
    slipped = faulty(SHEET, "open", sensor_slipped=0.5)
    assert slipped.readings()["travel"] == pytest.approx(1.04, abs=0.002)
    noisy, read = faulty(SHEET, "open", sensor_noise=1.0), []
    for _ in range(50):
        noisy.advance(0.1)
        read.append(noisy.readings()["travel"] * 100)
    assert max(read) - min(read) > 2.0
    worn_track = faulty(SHEET, "closed", sensor_worn=1.0)
    Stroke(worn_track, Order.OPEN, 20.0)
    lost = []
    while worn_track.truth().travel_pct < 50.0:
        worn_track.advance(0.5)
        lost.append(worn_track.readings()["travel"] < 0.01)
    assert any(lost)
    assert not all(lost)


def test_feedback_faults_show_in_the_current() -> None:
    """Reversed, over 0 to 20 mA, and lifted while the motor runs."""
    assert faulty(SHEET, "open", feedback_reversed=1.0).readings()["feedback_current"] == pytest.approx(4e-3, abs=3e-5)
    assert faulty(SHEET, "closed", wrong_range=1.0).readings()["feedback_current"] == pytest.approx(0.0, abs=3e-5)
    looped = faulty(SHEET, "closed", ground_loop=1.0)
    still_ma = looped.readings()["feedback_current"] * 1000
    looped.order(Order.OPEN, remote=True)
    looped.advance(0.3)
    assert looped.readings()["feedback_current"] * 1000 - still_ma == pytest.approx(0.8, abs=0.05)


def test_swapped_directions_go_the_other_way() -> None:
    """OPEN closes it."""
    unit = faulty(SHEET, "open", open_close_swapped=1.0)
    unit.order(Order.OPEN, remote=True)
    unit.advance(10.0)
    assert unit.truth().travel_pct < 5.0


def test_an_alarm_contact_can_be_silent_when_dead() -> None:
    """Power gone: the right contact opens, the wrong one stays closed."""
    for severity, closed in ((0.0, False), (1.0, True)):
        unit = faulty(BDV, "open", alarm_contact=severity)
        desk = SiteDesk(unit)
        assert desk.read("control_room")["alarm_contact_closed"] is True
        unit.side.control_supply = False
        unit.advance(0.2)
        assert desk.read("control_room")["alarm_contact_closed"] is closed


def test_three_phase_faults() -> None:
    """A lost phase hums at high current and does not turn; a welded contactor runs without being asked."""
    hums = faulty(FCV, "closed", phase_lost=1.0)
    hums.side.bleeds["BV-3"] = 0.02
    wait(hums, lambda truth: truth.pump_on, limit_s=200.0, step_s=0.1)
    hums.side.bleeds["BV-3"] = 0.0
    hums.advance(3.0)
    assert hums.electrics.motor_a > 10.0
    assert hums.electrics.flow_m3_s == 0.0
    welded = faulty(FCV, "closed", contactor_welded=1.0)
    welded.advance(30.0)
    assert welded.truth().system_bar > 128.0
    assert welded.readings()["motor_running"] == 1.0


def test_a_thin_cable_and_an_old_battery_dip_at_the_start() -> None:
    """The first second takes the supply down by more than 15 %, where a sound one keeps within it."""
    lowest = {}
    for name in ("thin-cable", "battery-aged", ""):
        condition = with_fault(HEALTHY, SHEET, name, 0.5) if name else HEALTHY
        unit = PracticeUnit(SHEET, condition=condition, start=End.CLOSED, seed=1)
        unit.order(Order.OPEN, remote=True)
        volts = []
        for _ in range(50):
            unit.advance(0.02)
            volts.append(unit.electrics.supply_v)
        lowest[name] = min(volts)
    assert lowest[""] > 0.85 * 24.0
    assert max(lowest["thin-cable"], lowest["battery-aged"]) < 0.85 * 24.0


def test_sun_makes_the_pressure_climb_by_day() -> None:
    """Without nitrogen the trapped oil gains several bar before noon; with it, hardly any."""
    hot = faulty(BDV, "closed", sun_on_oil=1.0, precharge_low=1.0)
    hot.advance(1800.0)
    assert hot.truth().pressure_bar > 113.0


def test_two_faults_together_do_what_each_does() -> None:
    """Needle and packing: the time of both, the pressure of the packing alone."""
    both = closing(tight_packing=0.3, needle_closed=1 / 3)
    packing, needle = closing(tight_packing=0.3), closing(needle_closed=1 / 3)
    assert both.home_s > max(packing.home_s, needle.home_s)
    assert both.home_s == pytest.approx(packing.home_s / 0.7, rel=0.04)
    assert both.start_bar == pytest.approx(packing.start_bar, abs=0.7)


ROWS = {
    1: ("air-in-oil",), 2: ("low-fluid",), 3: ("worn-pump",), 4: ("suction-blocked",), 5: ("relief-low",),
    6: ("relief-leaking",), 7: ("check-valve-leaking",), 8: ("piston-seal-leaking",), 9: ("dump-leaking",),
    10: ("external-leak",), 11: ("tight-packing", "galled-valve", "stuck-valve"), 12: ("stick-slip",),
    13: ("more-difference",), 14: ("cold-oil", "wrong-oil"), 15: ("needle-closed",), 16: ("needle-closed",),
    17: ("return-clogged",), 18: ("limit-early",), 19: ("limit-loose",),
    20: ("sensor-noise", "sensor-slipped", "sensor-worn"), 21: ("weak-spring",), 22: ("low-supply", "thin-cable"),
    23: ("rotation-reversed",), 24: ("phase-lost",), 25: ("open-close-swapped",), 26: ("feedback-reversed",),
    27: ("ground-loop",), 28: ("wrong-range",), 29: ("word-order",), 30: ("off-by-one",), 31: ("wrong-scale",),
    32: ("alarm-contact",), 33: ("precharge-low",), 34: ("precharge-high",), 35: ("switch-above-relief",),
    36: ("slow-solenoid",), 37: ("bypass-open",), 38: ("lost-motion",), 39: ("stem-sheared",), 40: ("solenoid-held",),
    41: ("water-in-oil",), 42: ("contactor-welded",), 43: ("battery-aged",), 44: ("sun-on-oil",), 45: ("hunting",),
    46: ("duplicate-address", "no-termination"),
}  # fmt: skip
"""Each row of trade guide 3.4; a needle that drifts (16) is row 15 at another severity on each visit."""


def test_every_row_of_the_guide_is_a_fault() -> None:
    """All 46, and no fault beside them."""
    assert sorted(ROWS) == list(range(1, 47))
    assert {name for names in ROWS.values() for name in names} == set(FAULTS)


def test_a_blocked_suction_starves_the_pump(sound: tuple[Stroke, Stroke]) -> None:
    """Half of nine tenths taken: 1/0.55 of the time at the same pressure; colder, nothing comes at all."""
    blocked = opening(40.0, suction_blocked=0.5)
    assert blocked.between_s(1.0, 8.0) / sound[1].between_s(1.0, 8.0) == pytest.approx(1 / 0.55, rel=0.03)
    assert blocked.bar_at(8.0) == pytest.approx(sound[1].bar_at(8.0), abs=0.5)
    assert not opening(20.0, suction_blocked=0.6, cold_oil=0.7).dead_s


def test_a_leaking_relief_slows_it_most_where_pressure_is_high(sound: tuple[Stroke, Stroke]) -> None:
    """Slow all through, the more so the higher the pressure; after the stop it falls until the motor starts again."""
    unit = faulty(SHEET, "closed", relief_leaking=0.4)
    stroke = Stroke(unit, Order.OPEN)
    assert stroke.home_s > 1.15 * sound[1].home_s
    early = stroke.between_s(1.0, 20.0) / sound[1].between_s(1.0, 20.0)
    late = stroke.between_s(70.0, 95.0) / sound[1].between_s(70.0, 95.0)
    assert late > early > 1.1
    wait(unit, lambda truth: not truth.pump_on)
    wait(unit, lambda truth: truth.pump_on, limit_s=60.0)


def test_a_leaking_piston_seal_shows_on_the_other_side() -> None:
    """Both sides shut, one loaded: the other side's gauge rises, no oil leaves the unit."""
    found_bar = {}
    for severity in (0.0, 0.5):
        unit = faulty(FCV, "closed", piston_seal_leaking=severity)
        unit.side.command_signal = 20.0
        unit.advance(12.0)
        unit.side.command_signal = 12.0
        unit.advance(60.0)
        found_bar[severity] = abs(unit.truth().pressure_bar - unit.truth().pressure_b_bar)
        assert unit.truth().oil_l == pytest.approx(faulty(FCV, "closed").truth().oil_l, rel=1e-9)
    assert found_bar[0.5] < 0.5 * found_bar[0.0] or found_bar[0.5] < 3.0


def test_a_stuck_valve_leaps() -> None:
    """On the slow bleed its pressure falls far below what friction asks, then it leaps; eight times as much never."""
    lowest_bar, leapt_pct = {}, {}
    for severity in (0.0, 0.5):
        unit = faulty(SHEET, "open", stuck_valve=severity)
        unit.order(Order.PARTIAL_STROKE, remote=True)
        while unit.truth().travel_pct > 99.9:
            lowest_bar[severity] = unit.truth().pressure_bar
            unit.advance(0.02)
        leapt_pct[severity] = 100.0 - unit.truth().travel_pct
    assert lowest_bar[0.0] == pytest.approx(53.5, abs=3.0)
    assert lowest_bar[0.5] < 20.0
    assert leapt_pct[0.5] > leapt_pct[0.0] + 0.05
    never = closing(10.0, stuck_valve=1.0)
    assert not never.dead_s
    assert never.places[-1][0] == pytest.approx(100.0)
    assert never.places[-1][1] == pytest.approx(0.0, abs=0.1)


def test_a_loose_limit_chatters_at_rest() -> None:
    """At home it makes and breaks by itself; a sound one stands."""
    for severity, kinds in ((1.0, {True, False}), (0.0, {True})):
        unit = faulty(SHEET, "closed", limit_loose=severity)
        seen = set()
        for _ in range(40):
            unit.advance(0.1)
            seen.add(unit.truth().closed_limit)
        assert seen == kinds


def test_a_reversed_rotation_runs_and_pumps_nothing() -> None:
    """No pressure, motor running, current below the loaded one."""
    unit = faulty(FCV, "closed", rotation_reversed=1.0)
    unit.side.bleeds["BV-3"] = 0.05
    wait(unit, lambda truth: truth.pump_on, limit_s=200.0, step_s=0.1)
    unit.side.bleeds["BV-3"] = 0.0
    before_bar = unit.truth().system_bar
    unit.advance(5.0)
    assert unit.truth().system_bar < before_bar + 1.0  # the gas warms after the bleeding
    assert unit.readings()["motor_running"] == 1.0
    assert 0.0 < unit.electrics.motor_a < FCV.supply.running_a


def test_a_thin_cable_stalls_an_alternating_motor_under_load_only() -> None:
    """Volts short by four tenths: no start against cut-in pressure, and the starting current stays."""
    unit = faulty(FCV, "closed", low_supply=1.0)
    unit.electrics.step(3.0, powered=True, pressure_pa=100e5)
    assert unit.electrics.flow_m3_s == 0.0
    assert unit.electrics.motor_a > 2.0 * FCV.supply.running_a


def test_wrong_maps_are_read_as_their_rows_say() -> None:
    """By the sheet: the word order makes nonsense of 24.37 V, one further reads the neighbour, the decimal tenfold."""
    volts, oil = SHEET.point("supply_voltage"), SHEET.point("oil_temperature")
    assert volts is not None
    assert oil is not None

    def words(point: Point, **faults: float) -> list[int]:
        device = Device(faulty(SHEET, "closed", **faults))
        return device.read(TableName.INPUT, SHEET.wire_address(point), point.words)

    assert words(volts, word_order=1.0) == words(volts)[::-1]
    assert words(oil, wrong_scale=1.0)[0] == pytest.approx(10 * words(oil)[0], abs=10)
    assert words(oil, off_by_one=1.0)[0] == words(volts)[1]


def test_lost_nitrogen_shortens_runs_and_lengthens_the_first_fill() -> None:
    """85 to 105 bar in 10.3 s, 5.4 s without nitrogen's half; from empty 16 s, 37 s (trade guide 3.4, row 33)."""
    assert _filling_s(FCV, 85.0) == pytest.approx(10.3, rel=0.03)
    assert _filling_s(FCV, 0.0) == pytest.approx(16.2, rel=0.03)
    assert _filling_s(FCV, 85.0, precharge_low=0.477) == pytest.approx(5.4, rel=0.03)
    assert _filling_s(FCV, 0.0, precharge_low=0.477) == pytest.approx(37.0, rel=0.03)


def _filling_s(sheet: Sheet, from_bar: float, **faults: float) -> float:
    """Seconds of pumping until cut-out."""
    machine, seconds = faulty(sheet, "closed", **faults).hydraulics, 0.0
    assert isinstance(machine, DoubleActing)
    machine.bladder.take(-1.0)
    machine.bladder.rest(1e6)
    machine.start(End.CLOSED, from_bar * 1e5)
    while machine.pump_pa < sheet.pump.cut_out_bar * 1e5:
        machine.step(0.02, Ways(pump_m3_s=5.97e-3 / 60, pumping=True))
        seconds += 0.02
    return seconds


def test_too_much_nitrogen_makes_very_short_runs() -> None:
    """No stored volume: from cut-in to cut-out in no time."""
    assert _filling_s(FCV, 85.0, precharge_high=1.0) < 0.15 * 10.3


def test_a_cut_out_above_the_relief_is_never_reached() -> None:
    """The motor runs on against the relief until its run limit stops it, alarmed."""
    unit = faulty(FCV, "closed", switch_above_relief=1.0)
    unit.side.bleeds["BV-3"] = 0.05
    wait(unit, lambda truth: truth.pump_on, limit_s=200.0, step_s=0.1)
    unit.side.bleeds["BV-3"] = 0.0
    unit.advance(58.0)
    assert unit.truth().pump_on
    assert unit.truth().system_bar == pytest.approx(FCV.pump.relief_bar, abs=8.0)
    unit.advance(5.0)
    assert "alarm_run_time" in unit.truth().alarms


def test_lost_motion_stays_behind_on_reversal() -> None:
    """The stem follows 3 % later after a change of direction; the sensor does not know."""
    unit, apart = faulty(FCV, "closed", lost_motion=1.0), []
    for command_ma in (12.0, 10.0):
        unit.side.command_signal = command_ma
        unit.advance(12.0)
        apart.append(unit.truth().stem_pct - unit.truth().travel_pct)
    assert apart[1] - apart[0] == pytest.approx(3.0, abs=0.05)


def test_water_in_the_oil_is_erratic_in_frost_only() -> None:
    """At 20 °C as ever; at -10 °C each trip waits another while; with much water one of them does not go at all."""
    assert closing(water_in_oil=1.0).dead_s == pytest.approx(closing().dead_s, abs=0.06)
    cold = (SHEET.environment.coldest_c, -10.0)
    severity = (20.0 - cold[1]) / (20.0 - cold[0])
    waited = []
    for seed in range(8):
        condition = with_fault(HEALTHY, SHEET, "cold-oil", severity)
        condition = with_fault(condition, SHEET, "water-in-oil", 1.0)
        waited.append(Stroke(PracticeUnit(SHEET, condition=condition, start=End.OPEN, seed=seed), Order.CLOSE).dead_s)
    went = [seconds for seconds in waited if seconds]
    assert len(went) < len(waited)
    assert max(went) - min(went) > 3.0
    assert max(went) < 16.0


def test_a_gain_too_high_hunts() -> None:
    """A modulating unit that should stand moves on and on, to and fro."""
    for severity in (1.0, 0.0):
        unit = faulty(FCV, "closed", hunting=severity)
        unit.side.command_signal = 12.0
        unit.advance(10.0)
        at_pct = []
        for _ in range(400):
            unit.advance(0.05)
            at_pct.append(unit.truth().travel_pct)
        ways = [later - earlier for earlier, later in pairwise(at_pct) if later != earlier]
        turned = sum(first * second < 0 for first, second in pairwise(ways))
        assert turned > 6 if severity else turned == 0


def test_packing_and_spring_together_come_apart_by_pressure(sound: tuple[Stroke, Stroke]) -> None:
    """Half the difference of opening and closing pressure is friction, half the sum the spring (trade guide 3.1)."""
    faults = {"tight_packing": 0.3, "weak_spring": 0.2}
    both = (closing(**faults), opening(80.0, **faults))

    def friction_and_spring(strokes: tuple[Stroke, Stroke]) -> tuple[float, float]:
        closed_bar, open_bar = strokes[0].bar_at(50.0), strokes[1].bar_at(50.0)
        return (open_bar - closed_bar) / 2, (open_bar + closed_bar) / 2

    friction, spring = friction_and_spring(both)
    usual_friction, usual_spring = friction_and_spring(sound)
    assert friction / usual_friction == pytest.approx(1.45, rel=0.03)
    assert spring / usual_spring == pytest.approx(0.9, rel=0.02)


def test_two_faults_of_the_pump_multiply(sound: tuple[Stroke, Stroke]) -> None:
    """Worn pump and low volts: each takes its share of the speed."""
    usual_s = sound[1].between_s(1.0, 15.0)
    worn_s = opening(45.0, worn_pump=0.25).between_s(1.0, 15.0)
    low_s = opening(45.0, low_supply=0.25).between_s(1.0, 15.0)
    both_s = opening(60.0, worn_pump=0.25, low_supply=0.25).between_s(1.0, 15.0)
    assert min(worn_s, low_s) > 1.03 * usual_s
    assert both_s / usual_s == pytest.approx(worn_s * low_s / usual_s**2, rel=0.03)


@pytest.mark.parametrize("tag", SHEETS)
def test_every_fault_of_a_unit_can_be_served(tag: str) -> None:
    """At full severity each makes a unit that lives for two seconds and is read."""
    for fault in faults_of(SHEETS[tag]):
        unit = PracticeUnit(SHEETS[tag], condition=with_fault(HEALTHY, SHEETS[tag], fault.name, 1.0), seed=1)
        before_l = unit.truth().oil_l
        unit.advance(2.0)
        assert unit.readings()["identity"] == SHEETS[tag].identity.code
        assert unit.truth().oil_l == pytest.approx(before_l, rel=1e-11), fault.name

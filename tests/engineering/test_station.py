"""
The demonstration station recomputed from its data sheets alone.

The reference figures are the invented scenario's own; each is met within its rounding. Those that are not are listed in
`CORRECTED` with the reason.
"""

import math
from collections.abc import Callable

import pytest
from scipy.integrate import solve_ivp

from commission.engineering import accumulator, battery, heating, nitrogen, supply, trapped_oil, wiring
from commission.engineering.accumulator import SLOW, Charge, absolute_pa
from commission.engineering.drive import weakest
from commission.engineering.moving import EMPTY_LINE, Conditions
from commission.engineering.viscosity import oil_of
from commission.sheet.model import End
from tests.engineering.units import drawn_unit, mover_of, sheet_of, unit_of

XV, FCV, BDV = "xv-1101", "fcv-2204", "bdv-3307"


def half_digit(printed: str) -> float:
    """Half a unit of the last printed digit."""
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10.0**-decimals * (1 + 1e-9)


def near(found: float, printed: str) -> None:
    """The number rounds to what is printed (half a unit either way)."""
    assert abs(found - float(printed)) <= half_digit(printed), f"found {found:.6g}, printed {printed}"


def spring_way(tag: str, towards: End, gone_pct: float, conditions: Conditions = EMPTY_LINE) -> float:
    """Seconds until a share of the way is gone."""
    seconds = mover_of(tag).to_travel_s(towards, gone_pct / 100, conditions)
    assert seconds is not None
    return seconds


CYLINDERS = [
    (XV, End.OPEN, "122.72", "3.927"),
    (FCV, End.CLOSED, "50.27", "0.382"),
    (FCV, End.OPEN, "40.09", "0.305"),
    (BDV, End.CLOSED, "78.54", "1.296"),
]


@pytest.mark.parametrize(("tag", "towards", "cm2", "litres"), CYLINDERS)
def test_areas_and_volumes(tag: str, towards: End, cm2: str, litres: str) -> None:
    """Driving area and oil of a full stroke."""
    drive = unit_of(tag).drive
    near(drive.area_m2(towards) * 1e4, cm2)
    near(drive.stroke_m3(towards) * 1e3, litres)


@pytest.mark.parametrize(("tag", "per_mm"), [(XV, "106.25"), (BDV, "157.6")])
def test_spring_rates(tag: str, per_mm: str) -> None:
    """Newtons a millimetre of rod."""
    drive = unit_of(tag).drive
    assert drive.spring_n is not None
    near(abs(drive.spring_n[1] - drive.spring_n[0]) / (drive.cylinder.stroke_m * 1000), per_mm)


@pytest.mark.parametrize(("tag", "l_min"), [(XV, "1.61"), (FCV, "5.97"), (BDV, "2.40")])
def test_pump_flows(tag: str, l_min: str) -> None:
    """At the stated efficiency."""
    near(unit_of(tag).pump.stated_m3_s * 60_000, l_min)


@pytest.mark.parametrize(
    ("tag", "towards", "factor"),
    [
        (XV, End.OPEN, "1.57"),
        (FCV, End.CLOSED, "1.38"),
        (FCV, End.OPEN, "1.55"),
        (BDV, End.OPEN, "1.67"),
    ],
)
def test_least_margins(tag: str, towards: End, factor: str) -> None:
    """At cut-in; XV-1101 opening is weakest at mid-travel, not at breakaway."""
    unit = drawn_unit(tag)
    least = weakest(unit.drive.margins(towards, unit.cut_in_pa))
    assert least is not None
    near(least.factor, factor)
    if tag == XV:
        assert least.phase == "run"


def test_seating_margin_of_the_blowdown_valve() -> None:
    """1.81 is 1.805 rounded away from zero: half a unit, and a hair."""
    unit = drawn_unit(BDV)
    seating = next(m for m in unit.drive.margins(End.CLOSED, unit.cut_in_pa) if m.phase == "end")
    assert seating.factor == pytest.approx(1.8050, abs=1e-4)


# angle, rod mm, spring kN, spring torque, valve closing, SF, hydraulic torque, valve opening, SF, bar design, bar empty
TORQUES = [
    (0.0, "0", "46.0", 12510, 7600, "1.65", 22540, 9500, "2.37", "65.9", "53.1"),
    (22.5, "93.7", "56.0", 8920, 5500, "1.62", 11620, 5800, "2.00", "75.3", "61.9"),
    (45.0, "160", "63.0", 8570, 5200, "1.65", 8960, 5700, "1.57", "85.5", "70.1"),
    (60.0, "202.9", "67.6", 9850, 5300, "1.86", 8940, 5700, "1.57", "86.9", "72.6"),
    (67.5, "226.3", "70.0", 11160, 5400, "2.07", 9370, 5800, "1.62", "86.7", "73.4"),
    (90.0, "320", "80.0", 21760, 7100, "3.06", 13290, 6200, "2.14", "83.8", "75.4"),
]


@pytest.mark.parametrize("row", TORQUES, ids=lambda row: f"{row[0]:g}°")
def test_torque_table(row: tuple[float, str, str, int, int, str, int, int, str, str, str]) -> None:
    """Rod, spring, torques to ten newton metres, margins and pressures over the angle."""
    angle, rod, spring_kn, spring_nm, closing, close_sf, hydraulic, opening, open_sf, design, empty = row
    drive, travel = unit_of(XV).drive, angle / 90
    near(drive.mechanism.rod_m(travel) * 1000, rod)
    near(drive.spring_force_n(travel) / 1000, spring_kn)
    by_spring = drive.stem(travel, drive.spring_force_n(travel))
    by_oil = drive.stem(travel, 105e5 * drive.cylinder.piston_m2 - drive.spring_force_n(travel))
    assert (by_spring, by_oil) == pytest.approx((spring_nm, hydraulic), abs=5.5)
    assert (drive.required(travel, End.CLOSED), drive.required(travel, End.OPEN)) == pytest.approx((closing, opening))
    near(by_spring / closing, close_sf)
    near(by_oil / opening, open_sf)
    near(drive.moving_pa(travel, End.OPEN, 1.0) / 1e5, design)
    near(drive.moving_pa(travel, End.OPEN, 0.55) / 1e5, empty)


OPENING = [4.7, 10.0, 16.1, 22.9, 30.5, 38.7, 47.2, 55.9, 64.4, 72.4, 79.7, 86.2, 92.0, 97.1]
"""Percent of the angle after 10, 20 … 140 s."""


def test_opening_curve() -> None:
    """Constant flow: the rod moves evenly, the angle does not. 146.3 s in all."""
    drive, flow = unit_of(XV).drive, unit_of(XV).pump.stated_m3_s
    for place, percent in enumerate(OPENING, start=1):
        travel = drive.mechanism.travel_at(flow * 10 * place / drive.cylinder.piston_m2)
        assert travel * 100 == pytest.approx(percent, abs=0.06)
    near(drive.stroke_m3(End.OPEN) / flow, "146.3")
    assert spring_way(XV, End.OPEN, 100) == pytest.approx(146.3, abs=0.1)  # with slip over the pressure


CLOSING = [
    (90, "0.91", "48.0"), (80, "1.67", "44.0"), (70, "2.34", "39.9"), (60, "2.98", "36.6"), (50, "3.61", "34.2"),
    (40, "4.26", "32.2"), (30, "4.96", "30.8"), (20, "5.76", "29.1"), (10, "6.73", "27.0"), (0, "8.00", "25.0"),
]  # fmt: skip
"""Percent still open, seconds, bar."""


@pytest.mark.parametrize(("left", "seconds", "bar"), CLOSING)
def test_closing_curve(left: int, seconds: str, bar: str) -> None:
    """
    Spring stroke through 5.44 mm², empty line, oil at 20 °C; 53.5 bar at first motion.

    Times are met within their rounding. So are pressures at the travels of the sheet's load table; between them the
    scenario's papers had a finer load curve that they do not print, and the sheet's straight lines are up to 1.5 % off.
    """
    near(spring_way(XV, End.CLOSED, 100 - left), seconds)
    found = unit_of(XV).drive.moving_pa(left / 100, End.CLOSED, 0.55) / 1e5
    if left in (0, 50):
        near(found, bar)
    assert found == pytest.approx(float(bar), rel=0.015)
    near(unit_of(XV).drive.moving_pa(1.0, End.CLOSED, 0.55) / 1e5, "53.5")


PARTIAL = [("1.5", 98), ("3.0", 96), ("4.4", 94), ("5.7", 92), ("7.0", 90), ("8.2", 88), ("9.4", 86), ("10.0", 85)]


@pytest.mark.parametrize(("seconds", "left"), PARTIAL)
def test_partial_stroke_curve(seconds: str, left: int) -> None:
    """Through the separate path of 0.708 mm²; 52.2, 48.0 and 46.1 bar at 98, 90 and 85 %."""
    stroke = mover_of(XV).partial((100 - left) / 100)
    assert stroke is not None
    near(stroke.time_s, seconds)
    printed = {98: 52.2, 90: 48.0, 85: 46.1}.get(left)
    if printed is not None:  # between the travels of the load table, as above
        assert stroke.end_pa / 1e5 == pytest.approx(printed, rel=0.02)


BLOWDOWN = [
    (10, "0.79"), (20, "1.60"), (30, "2.45"), (40, "3.33"), (50, "4.26"), (60, "5.25"), (70, "6.30"), (80, "7.43"),
    (90, "8.66"), (100, "10.0"),
]  # fmt: skip
"""Percent open, seconds."""


@pytest.mark.parametrize(("gone", "seconds"), BLOWDOWN)
def test_blowdown_opening_curve(gone: int, seconds: str) -> None:
    """Spring stroke through 1.65 mm²."""
    assert spring_way(BDV, End.OPEN, gone) == pytest.approx(float(seconds), abs=2 * half_digit(seconds))


def test_blowdown_closing() -> None:
    """32.4 s by the pump; 27, 43 and 62 bar at start, middle and seat."""
    near(spring_way(BDV, End.CLOSED, 100), "32.4")
    drive = unit_of(BDV).drive
    for travel, bar in ((1.0, "27"), (0.5, "43"), (0.0, "62")):
        near(drive.moving_pa(travel, End.CLOSED, 0.5) / 1e5, bar)


def test_flow_control_valve_strokes() -> None:
    """8.0 s each way, 12.5 %/s."""
    for towards in (End.OPEN, End.CLOSED):
        near(spring_way(FCV, towards, 100), "8.0")
        near(100 / spring_way(FCV, towards, 100), "12.5")


def charge_of(tag: str) -> Charge:
    """A unit's accumulator as charged."""
    charge = unit_of(tag).charge
    assert charge is not None
    return charge


@pytest.mark.parametrize(
    ("tag", "millilitres", "oil"), [(XV, "72", "5.6"), (BDV, "81", "1.9"), (FCV, "1020", "")], ids=str
)
def test_usable_oil(tag: str, millilitres: str, oil: str) -> None:
    """Between cut-out and cut-in, slowly; and what the oil's own compression adds."""
    unit = unit_of(tag)
    near(charge_of(tag).usable_m3(absolute_pa(unit.cut_in_pa), absolute_pa(unit.cut_out_pa)) * 1e6, millilitres)
    if oil:
        towards = unit.drive.powered_ends[0]
        near(trapped_oil.compressed_m3(unit.drive.stroke_m3(towards), unit.cut_out_pa - unit.cut_in_pa) * 1e6, oil)


def test_emergency_stroke_from_cut_in() -> None:
    """85 to 77 bar, 38.8 kN for 31: 1.25; recharge 10.3 s, first fill 16.2 s."""
    drive, charge = unit_of(FCV).drive, charge_of(FCV)
    after = charge.pressure_after_abs_pa(absolute_pa(85e5), drive.stroke_m3(End.CLOSED)) - accumulator.ATMOSPHERE_PA
    near(after / 1e5, "77")
    near(after * drive.area_m2(End.CLOSED) / 1000, "38.8")
    near(after * drive.area_m2(End.CLOSED) / drive.required(0.0, End.CLOSED), "1.25")
    near(mover_of(FCV).fill_s(85e5, 105e5), "10.3")
    near(mover_of(FCV).fill_s(0.0, 105e5), "16.2")


def test_starts_of_the_modulating_valve() -> None:
    """Five full strokes' worth an hour: 1.7 starts."""
    drive, charge = unit_of(FCV).drive, charge_of(FCV)
    stroke_m3 = (drive.stroke_m3(End.OPEN) + drive.stroke_m3(End.CLOSED)) / 2
    band = charge.usable_m3(absolute_pa(85e5), absolute_pa(105e5))
    near(supply.starts_per_hour(5 * stroke_m3, band), "1.7")


@pytest.mark.parametrize(("tag", "swing"), [(XV, "4.05"), (FCV, "1.7"), (BDV, "1.4")])
def test_tank_swing(tag: str, swing: str) -> None:
    """Cylinder and accumulator together; for the double-acting unit the rod and the accumulator."""
    unit = unit_of(tag)
    drive = unit.drive
    moved = drive.cylinder.rod_m3 if drive.double_acting else drive.stroke_m3(drive.powered_ends[0])
    near((moved + charge_of(tag).oil_m3(absolute_pa(unit.cut_out_pa), SLOW)) * 1e3, swing)


def test_run_to_cut_out() -> None:
    """146.3 s of stroke, 0.5 s of build-up, then accumulator and oil up to 125 bar: 152 s."""
    mover, unit = mover_of(XV), unit_of(XV)
    near(mover.build_up_s(End.OPEN), "0.5")
    rest = trapped_oil.compressed_m3(unit.drive.stroke_m3(End.OPEN), unit.cut_out_pa - 75.4e5)
    total = spring_way(XV, End.OPEN, 100) + mover.build_up_s(End.OPEN) + mover.fill_s(0.0, unit.cut_out_pa)
    near(total + rest / unit.pump.stated_m3_s, "152")


def test_supply_of_the_shutdown_valve() -> None:
    """19.1 Ah a day with one stroke, 7.2 days at −20 °C, 218 W of array; 0.86 V in the cable running, 2.6 at start."""
    given = sheet_of(XV).supply
    day = battery.Budget(standby_a=0.76, stroke_ah=battery.stroke_ah(19.6, 152.0), strokes_per_day=1.0).ah_per_day
    near(day, "19.1")
    near(battery.autonomy_days(230, given.depth_of_discharge or 0, given.cold_factor or 0, day), "7.2")
    assert battery.array_w(day, 24.0, given.sun_h_per_day or 0) == pytest.approx(218, abs=0.6)
    cable = wiring.Cable(length_m=given.cable_m or 0, ohm_m=wiring.ohm_per_m(f"{given.cable_mm2:g} mm²"))
    near(cable.drop_v(19.6), "0.86")
    near(cable.drop_v(60.0), "2.6")


def test_voltage_unbalance_of_the_station() -> None:
    """480, 476 and 472 V: 0.84 %."""
    near(supply.unbalance((480, 476, 472)) * 100, "0.84")


@pytest.mark.parametrize(("celsius", "mm2_s"), [(80, "8.5"), (20, "86"), (0, "336"), (-10, "805"), (-20, "2290")])
def test_oil_of_the_station(celsius: float, mm2_s: str) -> None:
    """VG 32; 2290 is printed to three figures."""
    room = 5.0 if mm2_s == "2290" else half_digit(mm2_s)
    assert oil_of({"40": 32.0, "100": 5.4}).mm2_s(celsius) == pytest.approx(float(mm2_s), abs=room)


def test_pump_inhibit_of_the_blowdown_valve() -> None:
    """Below −5 °C the oil is thicker than about 510 mm²/s."""
    oil = unit_of(BDV).oil
    assert oil is not None
    assert oil.mm2_s(-5.0) == pytest.approx(510, abs=5)


@pytest.mark.parametrize(
    ("at_bar", "celsius", "bar"), [(76.5, -10, "68.6"), (76.5, 35, "80.5"), (95, 4, "89.8"), (95, -20, "81.9")]
)
def test_precharge_by_the_ideal_law(at_bar: float, celsius: float, bar: str) -> None:
    """What the station's papers say; real nitrogen is below it in the cold, see CORRECTED."""
    assert accumulator.ideal_precharge_pa(at_bar * 1e5, 20.0, celsius) / 1e5 == pytest.approx(float(bar), abs=0.06)


def test_a_year_later() -> None:
    """XV-1101 with friction ×1.45: 48.2 and 19.3 bar closing, 60 bar at breakaway opening."""
    stroke = mover_of(XV).stroke(End.CLOSED, Conditions(load_share=0.55 * 1.45))
    assert stroke is not None
    near(stroke.start_pa / 1e5, "48.2")
    near(stroke.end_pa / 1e5, "19.3")
    near(unit_of(XV).drive.moving_pa(0.0, End.OPEN, 0.55 * 1.45) / 1e5, "60")


def test_nitrogen_lost() -> None:
    """FCV-2204 at 50 bar: first fill 31 s, each run 6.7 s. BDV-3307 without gas: 18 °C of cooling are 9 starts."""
    weak = Charge(volume_m3=6e-3, precharge_abs_pa=absolute_pa(50e5))
    flow = unit_of(FCV).pump.stated_m3_s
    near(weak.oil_m3(absolute_pa(105e5)) / flow, "31")
    near(weak.usable_m3(absolute_pa(85e5), absolute_pa(105e5)) / flow, "6.7")
    band_k = trapped_oil.cooling_for_band_k(None, unit_of(BDV).drive.stroke_m3(End.CLOSED), 111e5, 91e5)
    near(18 / band_k, "9")
    charged = trapped_oil.cooling_for_band_k(charge_of(XV), unit_of(XV).drive.stroke_m3(End.OPEN), 126e5, 106e5)
    near(charged, "28")


def test_loop_load_of_the_station() -> None:
    """24 V and a 10 V transmitter: 636 Ω at 22 mA."""
    near(wiring.largest_loop_ohm(24.0, 10.0), "636")


# change; seconds of the full closing and of the partial stroke; bar at the start and end of motion
TROUBLES = [
    (Conditions(load_share=0.55 * 1.45), 8.97, 10.65, 48.2, 19.3),
    (Conditions(load_share=0.55 * 2.0), 10.9, 11.6, 41.8, 12.4),
    (Conditions(load_share=0.55 * 2.5), 14.9, 12.8, 35.9, 6.2),
    (Conditions(load_share=0.55 * 3.1), math.inf, 14.9, 29.0, math.nan),
    (Conditions(spring_factor=0.9), 8.65, 10.7, 47.0, 21.2),
    (Conditions(spring_factor=0.8), 9.49, 11.6, 40.5, 17.5),
    (Conditions(back_pa=5e5), 8.67, 10.55, math.nan, math.nan),
    (Conditions(area_factor=0.7), 11.4, 14.3, 53.5, 25.0),
]


@pytest.mark.parametrize(("conditions", "closing", "partial", "start", "end"), TROUBLES)
def test_what_trouble_does(conditions: Conditions, closing: float, partial: float, start: float, end: float) -> None:
    """Friction, spring, back pressure, needle: times within 3.5 % (the papers' steps are coarse), pressures 0.1 bar."""
    stroke, part = mover_of(XV).stroke(End.CLOSED, conditions), mover_of(XV).partial(0.15, conditions)
    assert stroke is not None
    assert part is not None
    assert stroke.time_s == pytest.approx(closing, rel=0.035)
    assert part.time_s == pytest.approx(partial, rel=0.04)
    for found, printed in ((stroke.start_pa, start), (stroke.end_pa, end)):
        assert math.isnan(printed) or found / 1e5 == pytest.approx(printed, abs=0.1)


CORRECTED: list[tuple[str, str, float, Callable[[], float], str]] = [
    (
        "XV-1101 closing at design load, s",
        "10.1",
        10.16,
        lambda: spring_way(XV, End.CLOSED, 100, Conditions(load_share=1.0)),
        "the coarse steps of the first computation; an ODE solver gives ours",
    ),
    (
        "XV-1101 closing with friction ×1.45, s",
        "8.97",
        8.98,
        lambda: spring_way(XV, End.CLOSED, 100, Conditions(load_share=0.55 * 1.45)),
        "likewise",
    ),
    (
        "XV-1101 partial stroke with friction ×1.45, s",
        "10.65",
        10.68,
        lambda: getattr(mover_of(XV).partial(0.15, Conditions(load_share=0.55 * 1.45)), "time_s", math.nan),
        "likewise",
    ),
    (
        "XV-1101 precharge at 4 °C, bar",
        "89.8",
        88.57,
        lambda: nitrogen.precharge_pa(95e5, 20.0, 4.0) / 1e5,
        "real nitrogen: the ideal law is 1.2 bar out, more than a test gauge",
    ),
    (
        "FCV-2204 starts an hour at 50 bar",
        "2.5",
        2.56,
        lambda: supply.starts_per_hour(
            5 * 0.34334e-3,
            Charge(volume_m3=6e-3, precharge_abs_pa=absolute_pa(50e5)).usable_m3(absolute_pa(85e5), absolute_pa(105e5)),
        ),
        "1.7 times the ratio of two rounded bands",
    ),
    (
        "BDV-3307 heater from −20 to 5 °C, h",
        "1.8",
        1.86,
        lambda: heating.HeatBalance(heater_w=150, loss_w_k=2.5, capacity_j_k=31e3).warm_up_s(-20, -20, 5) / 3600,
        "cut off instead of rounded",
    ),
]
"""Name, printed, ours, how, why the printed one is not met."""


@pytest.mark.parametrize(("name", "printed", "ours", "how", "why"), CORRECTED, ids=[row[0] for row in CORRECTED])
def test_corrected_figures(name: str, printed: str, ours: float, how: Callable[[], float], why: str) -> None:
    """Figures of the scenario's papers that do not follow from its sheets: ours, near theirs, with the reason."""
    assert why
    assert how() == pytest.approx(ours, rel=2e-3), name
    assert abs(how() - float(printed)) > half_digit(printed)
    assert how() == pytest.approx(float(printed), rel=0.035)


def test_the_corrected_stroke_against_an_ode_solver() -> None:
    """XV-1101 closing at design load, stepped in time by scipy: 10.16 s, not 10.1."""
    drive, way = unit_of(XV).drive, unit_of(XV).way_out()
    assert way is not None

    def rate(_t: float, rod: list[float]) -> list[float]:
        return [-way.flow_m3_s(drive.pressure_along(End.CLOSED, 1.0, rod[0])) / drive.cylinder.piston_m2]

    def home(_t: float, rod: list[float]) -> float:
        return rod[0]

    home.terminal = True  # type: ignore[attr-defined]  # how the solver is told
    solved = solve_ivp(rate, (0, 30), [0.32], events=home, rtol=1e-8, max_step=0.02)
    assert solved.t_events[0][0] == pytest.approx(spring_way(XV, End.CLOSED, 100, Conditions(load_share=1.0)), rel=1e-4)
    assert solved.t_events[0][0] == pytest.approx(10.16, abs=0.005)

"""Motor current, volts left at the terminals, loop load, duty, and how long a battery lasts."""

from commission.engineering import battery, supply
from commission.engineering.drive import PA_PER_BAR
from commission.engineering.expectation import Gathering, Topic
from commission.engineering.moving import EMPTY_LINE, Mover
from commission.engineering.stored import band_m3
from commission.engineering.topics.strokes import run_to_cut_out_s
from commission.engineering.unit import Unit
from commission.engineering.wiring import Cable, ohm_per_m

LOOP_FAILURE_A = 0.022
"""Largest current that a failed 4-20 mA transmitter sends (NE 43 and common practice): it must get through too."""

LEAST_DIP = 0.15
"""Dip at start above which a supply is doubted; common practice, no source."""

START_POWER_FACTOR = 0.4
"""Of an induction motor standing still; common practice, no source."""


def electrical(unit: Unit) -> Topic:
    """Currents, drops, loop, duty, autonomy."""
    found = Gathering("Electrical")
    _currents(unit, found)
    _cable(unit, found)
    _loop(unit, found)
    _duty(unit, found)
    _autonomy(unit, found)
    return found.topic


def current_at_a(unit: Unit, pressure_pa: float) -> float:
    """
    Motor current at a pressure: through the sheet's running point, in proportion to the power in the oil.

    What the motor takes without load is not in it: below a third of the running pressure the real current is higher.
    """
    given = unit.sheet.supply
    at_pa = given.running_at_bar * PA_PER_BAR
    viscosity = unit.reference_m2_s or 1e-5
    flow_there = unit.pump.flow_m3_s(at_pa, viscosity)
    efficiency = supply.overall_efficiency(at_pa, flow_there, given.motor_v, given.running_a, given.phases)
    flow = unit.pump.flow_m3_s(pressure_pa, viscosity)
    return supply.motor_current_a(pressure_pa, flow, given.motor_v, efficiency, given.phases)


def _currents(unit: Unit, found: Gathering) -> None:
    given = unit.sheet.supply
    origin = f"through {given.running_a:g} A at {given.running_at_bar:g} bar"
    pump = unit.sheet.pump
    stroke = next((Mover(unit).stroke(end, EMPTY_LINE) for end in unit.drive.powered_ends), None)
    places = [("cut_in", "cut-in", pump.cut_in_bar), ("cut_out", "cut-out", pump.cut_out_bar)]
    if stroke is not None and stroke.by == "pump":
        places.insert(0, ("stroke", "the stroke's largest pressure", stroke.largest_pa / PA_PER_BAR))
    for name, words, bar in places:
        amperes = current_at_a(unit, bar * PA_PER_BAR)
        rated = given.rated_a
        note = f"ABOVE the rated {rated:g} A" if rated is not None and amperes > rated else ""
        found.add(f"current.{name}", f"motor current at {words}, {bar:.0f} bar", amperes, "A", origin, note=note)


def _cable(unit: Unit, found: Gathering) -> None:
    given = unit.sheet.supply
    size = f"AWG {given.cable_awg}" if given.cable_awg is not None else None
    if size is None and given.cable_mm2 is not None:
        size = f"{given.cable_mm2:g} mm²"
    if not found.needs("volts left at the motor", supply__cable_m=given.cable_m, supply__cable_mm2=size):
        return
    try:
        ohm_m = ohm_per_m(size or "")
    except ValueError:
        found.lack("supply.cable_mm2", f"a tabled conductor size, not {size}")
        return
    cable = Cable(length_m=given.cable_m or 0.0, ohm_m=ohm_m, three_phase=given.phases == "three-phase")
    origin = f"{given.cable_m:g} m of {size}, copper at 20 °C"
    running_v = cable.drop_v(given.running_a)
    found.add(
        "drop.running", "lost in the cable, running", running_v, "V", origin, note=_share(running_v, given.motor_v)
    )
    power_factor = 1.0 if given.phases == "DC" else START_POWER_FACTOR
    start_v = cable.drop_v(given.starting_a, power_factor)
    dip = start_v / given.motor_v
    doubt = "; MORE than the usual 15 %" if dip > LEAST_DIP else ""
    found.add(
        "drop.start",
        f"lost at start, {given.starting_a:g} A",
        start_v,
        "V",
        origin if given.phases == "DC" else f"{origin}; power factor {START_POWER_FACTOR:g} at start, common practice",
        note=_share(start_v, given.motor_v) + doubt,
    )
    left = given.motor_v - start_v
    found.add("volts.start", "left at the motor at start", left, "V", f"rated {given.motor_v:g} V, stiff source")


def _share(volts: float, rated_v: float) -> str:
    return f"{volts / rated_v * 100:.1f} % of {rated_v:g} V"


def _loop(unit: Unit, found: Gathering) -> None:
    modulating, given = unit.sheet.modulating, unit.sheet.supply
    if modulating is None or modulating.command.unit != "mA":
        return
    if modulating.command.load_ohm is None:
        found.lack("modulating.command.load_ohm", "volts that the command loop takes")
        return
    taken = modulating.command.load_ohm * LOOP_FAILURE_A
    note = f"leaves {given.control_v - taken:.1f} V of {given.control_v:g} V for source and wires"
    found.add(
        "loop.volts",
        "command loop takes at 22 mA",
        taken,
        "V",
        f"{modulating.command.load_ohm:g} Ω receiver",
        note=note,
    )


def _duty(unit: Unit, found: Gathering) -> None:
    settings = unit.sheet.protections
    runs = [run for end in unit.drive.powered_ends if (run := run_to_cut_out_s(unit, end)) is not None]
    run_s = max(runs, default=Mover(unit).fill_s(unit.cut_in_pa, unit.cut_out_pa))
    what = "stroke and filling" if runs else "recharge"
    found.add(
        "run.length",
        f"motor run, {what}, empty line",
        run_s,
        "s",
        "pump, oil 20 °C",
        note=f"limit {settings.run_limit_s:g} s",
    )
    duty = supply.longest_duty(run_s, settings.starts_allowed, settings.starts_window_min * 60)
    origin = f"{settings.starts_allowed} starts in {settings.starts_window_min:g} min"
    found.add("run.duty", "largest duty that the starts limit lets through", duty * 100, "%", origin, digits=2)
    gas, _ = band_m3(unit)
    if unit.drive.double_acting and gas:
        each = sum(unit.drive.stroke_m3(end) for end in unit.drive.powered_ends) / 2
        per_h = supply.starts_per_hour(5 * each, gas)
        found.add(
            "starts.hourly",
            "starts an hour at 5 full strokes' worth",
            per_h,
            "/h",
            "oil used over oil between the switches",
            digits=2,
        )


def _autonomy(unit: Unit, found: Gathering) -> None:
    given = unit.sheet.supply
    if given.battery_ah is None or not found.needs(
        "days without charging",
        supply__standby_a=given.standby_a,
        supply__depth_of_discharge=given.depth_of_discharge,
        supply__cold_factor=given.cold_factor,
        supply__strokes_per_day=given.strokes_per_day,
    ):
        return
    runs = [run for end in unit.drive.powered_ends if (run := run_to_cut_out_s(unit, end)) is not None]
    oil_m3 = sum(unit.drive.stroke_m3(end) for end in unit.drive.powered_ends)
    run_s = sum(runs) if runs else oil_m3 / unit.pump.stated_m3_s  # the accumulator is filled again with as much
    budget = battery.Budget(
        standby_a=given.standby_a or 0.0,
        stroke_ah=battery.stroke_ah(given.running_a, run_s),
        strokes_per_day=given.strokes_per_day or 0.0,
    )
    day = budget.ah_per_day
    found.add(
        "battery.day",
        "charge taken in a day",
        day,
        "Ah",
        f"{given.standby_a:g} A standing, {given.strokes_per_day:g} stroke(s)",
    )
    days = battery.autonomy_days(given.battery_ah, given.depth_of_discharge or 1.0, given.cold_factor or 1.0, day)
    asked = given.autonomy_days
    note = "" if asked is None else f"{'asked' if days >= asked else 'LESS than the asked'} {asked:g}"
    origin = f"{given.battery_ah:g} Ah, {given.depth_of_discharge:g} of it, cold factor {given.cold_factor:g}"
    found.add("battery.days", "days without charging, coldest", days, "days", origin, digits=2, note=note)
    _charging(unit, found, day)


def _charging(unit: Unit, found: Gathering, day_ah: float) -> None:
    given = unit.sheet.supply
    if not found.needs("what sun and wind put back", supply__sun_h_per_day=given.sun_h_per_day):
        return
    sun_h = given.sun_h_per_day or 1.0
    needed = battery.array_w(day_ah, given.motor_v, sun_h)
    has = given.array_w or 0.0
    note = f"has {has:g} W" + ("" if has >= needed or given.wind_w else ", TOO LITTLE")
    found.add(
        "array.needed", "array that a day needs", needed, "W", f"{sun_h:g} h of full sun, 0.75 arrives", note=note
    )
    collected = battery.collected_ah(given.motor_v, has, sun_h, given.wind_w or 0.0, given.wind_share or 0.0)
    if given.wind_w is not None and given.wind_share is None:
        found.lack("supply.wind_share", "what the wind generator adds")
    found.add(
        "array.collected", "put back in a day of the poorest month", collected, "Ah", "sun and wind, 0.75 arrives"
    )
    used = (given.battery_ah or 0.0) * (given.depth_of_discharge or 1.0)
    recovery = battery.recovery_days(used, collected, day_ah)
    found.add("array.recovery", "from empty to full again", recovery, "days", "poorest month", digits=2)

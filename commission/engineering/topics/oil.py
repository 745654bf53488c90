"""The oil over the place's temperatures, the pump's limits against it, and the heater."""

import math

from commission.engineering.expectation import Gathering, Topic
from commission.engineering.heating import HeatBalance
from commission.engineering.unit import Unit
from commission.engineering.viscosity import Oil, OutsideTable


def oil(unit: Unit) -> Topic:
    """Viscosities, cold and warm limits, heater."""
    found = Gathering("Oil")
    if unit.oil is None:
        found.lack("fluid.viscosity_at_c", "viscosity: two points of the fluid's own table or more")
    else:
        _viscosities(unit, unit.oil, found)
        _limits(unit, unit.oil, found)
    _heater(unit, found)
    return found.topic


def _viscosities(unit: Unit, fluid: Oil, found: Gathering) -> None:
    place = unit.sheet.environment
    how = "the fluid's table (ASTM D341 between its points)"
    for celsius in sorted({place.coldest_c, 20.0, place.hottest_c}):
        try:
            value = fluid.mm2_s(celsius)
        except OutsideTable as outside:
            found.lack("fluid.viscosity_at_c", f"viscosity at {celsius:g} °C: {outside}")
            continue
        found.add(
            f"viscosity.{celsius:g}",
            f"viscosity at {celsius:g} °C",
            value,
            "mm²/s",
            how,
            note=_verdict(unit, celsius, value),
        )


def _verdict(unit: Unit, celsius: float, value: float) -> str:
    fluid, inhibited = unit.sheet.fluid, unit.sheet.environment.pump_inhibited_below_c
    if inhibited is not None and celsius < inhibited:
        return f"pump inhibited below {inhibited:g} °C"
    if fluid.start_most_mm2_s is not None and value > fluid.start_most_mm2_s:
        return f"TOO THICK to start: at most {fluid.start_most_mm2_s:g}"
    if fluid.run_most_mm2_s is not None and value > fluid.run_most_mm2_s:
        return f"thick: the pump runs for long only below {fluid.run_most_mm2_s:g}"
    if fluid.run_least_mm2_s is not None and value < fluid.run_least_mm2_s:
        return f"TOO THIN: at least {fluid.run_least_mm2_s:g}"
    return ""


def _limits(unit: Unit, oil_points: Oil, found: Gathering) -> None:
    fluid = unit.sheet.fluid
    found.needs(
        "the temperatures that the pump may start and run at",
        fluid__start_most_mm2_s=fluid.start_most_mm2_s,
        fluid__run_most_mm2_s=fluid.run_most_mm2_s,
    )
    for limit, name, words in (
        (fluid.start_most_mm2_s, "start", "coldest start of the pump"),
        (fluid.run_most_mm2_s, "run", "coldest long run of the pump"),
        (fluid.run_least_mm2_s, "hot", "hottest run of the pump"),
    ):
        if limit is None:
            continue
        try:
            found.add(f"oil.{name}", words, oil_points.celsius(limit), "°C", f"{limit:g} mm²/s", digits=2)
        except OutsideTable:
            reached = limit <= oil_points.points[-1][1]
            if reached != (name == "hot"):  # the whole table is on the wrong side of the limit
                found.lack("fluid.viscosity_at_c", f"{words}: {limit:g} mm²/s lies outside the fluid's table")


def _heater(unit: Unit, found: Gathering) -> None:
    place = unit.sheet.environment
    if place.heater_w is None or not found.needs(
        "what the heater can do",
        environment__heat_loss_w_k=place.heat_loss_w_k,
        environment__heat_capacity_kj_k=place.heat_capacity_kj_k,
        environment__heater_on_c=place.heater_on_c,
    ):
        return
    balance = HeatBalance(
        heater_w=place.heater_w,
        loss_w_k=place.heat_loss_w_k or math.nan,
        capacity_j_k=(place.heat_capacity_kj_k or math.nan) * 1000,
    )
    on_c = place.heater_on_c or 0.0
    origin = f"{place.heater_w:g} W, {place.heat_loss_w_k:g} W/K, {place.heat_capacity_kj_k:g} kJ/K"
    held_c = place.coldest_c + balance.rise_k
    enough = "enough to hold" if held_c >= on_c else "NOT ENOUGH to hold"
    found.add(
        "heater.holds",
        f"heater holds at {place.coldest_c:g} °C ambient",
        held_c,
        "°C",
        origin,
        note=f"{enough} {on_c:g} °C",
    )
    found.add(
        "heater.duty",
        "share of the time it is on there",
        balance.duty(place.coldest_c, on_c) * 100,
        "%",
        origin,
        digits=2,
    )
    for from_c in sorted({place.coldest_c, max(place.coldest_c, -20.0)}):
        hours = balance.warm_up_s(from_c, from_c, on_c) / 3600
        found.add(
            f"heater.warm.{from_c:g}",
            f"warm-up from {from_c:g} to {on_c:g} °C at {from_c:g} °C ambient",
            hours,
            "h",
            origin,
        )

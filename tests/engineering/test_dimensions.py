"""
Dimensions, checked through the unit library: a formula must not care which coherent units it is given.

Each formula is computed in SI and again in inch, pound, minute, with every argument and the result converted by pint. A
forgotten square, a bar for a pascal or a hidden constant with a dimension changes the number.
"""

from collections.abc import Callable
from typing import Any

import pint
import pytest

from commission.engineering import battery, cylinder, heating, outflow, pump, supply, surge, trapped_oil, wiring
from commission.engineering.accumulator import Charge, volume_for_m3
from commission.engineering.mechanism import SlottedArm

UNITS: Any = pint.UnitRegistry()
COHERENT = {
    "[length]": "inch",
    "[mass]": "lb",
    "[time]": "minute",
    "[current]": "A",
    "[temperature]": "K",
    "[substance]": "mol",
}
"""The other system's base units."""


def other_unit(si: str) -> Any:
    """The coherent unit of the other system for an SI unit."""
    unit = UNITS.Unit("")
    for base, power in UNITS.Quantity(1, si).dimensionality.items():
        unit *= UNITS.Unit(COHERENT[base]) ** power
    return unit


def pump_of(displacement: float, speed: float, at: float, viscosity: float) -> pump.Pump:
    """A pump of 92 %."""
    return pump.Pump(displacement_m3=displacement, speed_per_s=speed, efficiency=0.92, at_pa=at, at_m2_s=viscosity)


FORMULAS: list[tuple[str, Callable[..., float], list[tuple[float, str]], str]] = [
    ("circle", cylinder.circle_m2, [(0.125, "m")], "m²"),
    ("power", cylinder.hydraulic_power_w, [(1e-4, "m³/s"), (1e7, "Pa")], "W"),
    ("piston", lambda d, s: cylinder.Cylinder(bore_m=d, stroke_m=s).piston_side_m3, [(0.1, "m"), (0.2, "m")], "m³"),
    ("arm", lambda r: SlottedArm(radius_m=r).arm_m(0.2), [(0.16, "m")], "m"),
    ("stroke", pump.stroke_time_s, [(0.0123, "m²"), (0.32, "m"), (2.7e-5, "m³/s")], "s"),
    (
        "slip",
        lambda d, n, p0, v0, p, v: pump_of(d, n, p0, v0).flow_m3_s(p, v),
        [(1e-6, "m³"), (29.0, "1/s"), (68e5, "Pa"), (27e-6, "m²/s"), (90e5, "Pa"), (14e-6, "m²/s")],
        "m³/s",
    ),
    (
        "orifice and line",
        lambda a, rho, r, p: outflow.Way(orifice_m2=a, density_kg_m3=rho, line_pa_s_m3=r).flow_m3_s(p),
        [(5.44e-6, "m²"), (855.0, "kg/m³"), (3e9, "Pa*s/m³"), (50e5, "Pa")],
        "m³/s",
    ),
    (
        "line",
        outflow.line_resistance_pa_s_m3,
        [(490e-6, "m²/s"), (855.0, "kg/m³"), (2.0, "m"), (0.008, "m")],
        "Pa*s/m³",
    ),
    ("Reynolds", outflow.reynolds, [(1e-4, "m³/s"), (0.008, "m"), (1e-5, "m²/s")], ""),
    (
        "spring stroke",
        lambda a, rho, area, rod, p, k: outflow.outflow_time_s(
            outflow.Way(orifice_m2=a, density_kg_m3=rho), area, 0.0, rod, lambda x: p + k * x
        ),
        [(5e-6, "m²"), (855.0, "kg/m³"), (0.0123, "m²"), (0.32, "m"), (25e5, "Pa"), (9e6, "Pa/m")],
        "s",
    ),
    (
        "usable oil",
        lambda v, p0, low, high: Charge(volume_m3=v, precharge_abs_pa=p0).usable_m3(low, high),
        [(6e-3, "m³"), (77e5, "Pa"), (86e5, "Pa"), (106e5, "Pa")],
        "m³",
    ),
    (
        "bottle",
        lambda w, p0, low, high: volume_for_m3(w, p0, low, high, 1.4),
        [(1e-3, "m³"), (91e5, "Pa"), (101e5, "Pa"), (201e5, "Pa")],
        "m³",
    ),
    ("trapped oil", trapped_oil.pressure_per_kelvin_pa, [(1.4e9, "Pa"), (7e-4, "1/K")], "Pa/K"),
    ("compressed", trapped_oil.compressed_m3, [(4e-3, "m³"), (2e6, "Pa"), (1.4e9, "Pa")], "m³"),
    ("leak", trapped_oil.restart_interval_s, [(77e-6, "m³"), (5e-9, "m³/s")], "s"),
    (
        "warm-up",
        lambda p, u, c, a, t1, t2: heating.HeatBalance(heater_w=p, loss_w_k=u, capacity_j_k=c).warm_up_s(a, t1, t2),
        [(150.0, "W"), (2.5, "W/K"), (31e3, "J/K"), (253.0, "K"), (253.0, "K"), (278.0, "K")],
        "s",
    ),
    ("heat", heating.heat_j, [(0.04, "m³"), (870.0, "kg/m³"), (1880.0, "J/kg/K"), (30.0, "K")], "J"),
    (
        "drop",
        lambda length, r, i: wiring.Cable(length_m=length, ohm_m=r, three_phase=True).drop_v(i),
        [(40.0, "m"), (0.0046, "ohm/m"), (18.0, "A")],
        "V",
    ),
    ("loop", wiring.largest_loop_ohm, [(24.0, "V"), (10.0, "V"), (0.022, "A")], "ohm"),
    (
        "motor",
        lambda p, q, v: supply.motor_current_a(p, q, v, 0.6),
        [(105e5, "Pa"), (2.7e-5, "m³/s"), (24.0, "V")],
        "A",
    ),
    (
        "surge",
        lambda rho, a, v, length, t: surge.LiquidLine(
            density_kg_m3=rho, wave_m_s=a, velocity_m_s=v, length_m=length
        ).surge_pa(t),
        [(860.0, "kg/m³"), (1100.0, "m/s"), (2.0, "m/s"), (1e4, "m"), (60.0, "s")],
        "Pa",
    ),
    (
        "wave",
        surge.wave_speed_m_s,
        [(2.2e9, "Pa"), (1000.0, "kg/m³"), (0.4, "m"), (0.01, "m"), (207e9, "Pa")],
        "m/s",
    ),
    ("days", lambda ah, daily: battery.autonomy_days(ah, 0.8, 0.75, daily), [(230.0, "A*s"), (19.0, "A*s")], ""),
]
"""Name, formula, arguments in SI with their units, unit of the result."""


@pytest.mark.parametrize(("name", "formula", "arguments", "unit"), FORMULAS, ids=[row[0] for row in FORMULAS])
def test_a_formula_does_not_care_for_the_units(
    name: str, formula: Callable[..., float], arguments: list[tuple[float, str]], unit: str
) -> None:
    """The same quantity in SI and in inch, pound, minute."""
    in_si = UNITS.Quantity(formula(*(value for value, _ in arguments)), unit)
    given = [UNITS.Quantity(value, si).to(other_unit(si)).magnitude for value, si in arguments]
    elsewhere = UNITS.Quantity(formula(*given), other_unit(unit))
    assert elsewhere.to(in_si.units).magnitude == pytest.approx(in_si.magnitude, rel=1e-9), name


def squared(flow: float, pressure: float) -> float:
    """A square too many."""
    return flow * pressure * pressure


def shifted(flow: float, pressure: float) -> float:
    """A hidden constant with a dimension."""
    return flow * pressure + 1.0


@pytest.mark.parametrize("wrong", [squared, shifted])
def test_a_wrong_formula_is_caught(wrong: Callable[[float, float], float]) -> None:
    """The check can fail."""
    arguments = [(1e-4, "m³/s"), (1e7, "Pa")]
    in_si = UNITS.Quantity(wrong(*(value for value, _ in arguments)), "W")
    given = [UNITS.Quantity(value, si).to(other_unit(si)).magnitude for value, si in arguments]
    elsewhere = UNITS.Quantity(wrong(*given), other_unit("W"))
    assert elsewhere.to("W").magnitude != pytest.approx(in_si.magnitude, rel=1e-6)

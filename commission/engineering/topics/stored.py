"""What is stored: oil between the switch points, filling, restarts, precharge at temperature, trapped oil."""

from commission.engineering.accumulator import ideal_precharge_pa
from commission.engineering.expectation import Gathering, Topic
from commission.engineering.moving import Mover
from commission.engineering.nitrogen import precharge_pa
from commission.engineering.stored import band_m3, cooling_to_restart_k
from commission.engineering.trapped_oil import pressure_per_kelvin_pa
from commission.engineering.unit import Unit

GAUGE_BAR = 0.5
"""What a good test gauge of 250 bar is out by: where the ideal law is out by more, that is said."""

MOST_COOLING_K = 120.0
"""More cooling than any place on earth has in it is not worth a line."""

_IDEAL = "ideal gas law, p/T constant"
_REAL = "real nitrogen (Span and Wagner 2003)"


def stored(unit: Unit) -> Topic:
    """Accumulator, restarts and oil shut in."""
    found, mover = Gathering("Stored oil and gas"), Mover(unit)
    gas, oil = band_m3(unit)
    switches = f"from {unit.sheet.pump.cut_out_bar:g} to {unit.sheet.pump.cut_in_bar:g} bar"
    if unit.sheet.accumulator is not None:
        found.add("accumulator.usable", "oil from the accumulator, slowly", gas * 1e6, "mL", f"{switches}, n = 1")
        found.add(
            "accumulator.recharge",
            "recharge from cut-in to cut-out",
            mover.fill_s(unit.cut_in_pa, unit.cut_out_pa),
            "s",
            "pump",
        )
        found.add("accumulator.first", "first filling from empty", mover.fill_s(0.0, unit.cut_out_pa), "s", "pump")
        _precharge(unit, found)
    found.add("oil.band", "oil from its own compression", oil * 1e6, "mL", f"{switches}, bulk modulus", digits=2)
    leak = (gas + oil) * 1e6
    found.add("leak.hourly", "leak that makes one start an hour", leak, "mL/h", "oil between the switch points")
    _temperature(unit, found)
    return found.topic


def temperatures_c(unit: Unit) -> tuple[float, ...]:
    """Gas temperatures worth a line: the coldest, 0, 20 and the hottest of the place, each once."""
    place = unit.sheet.environment
    return tuple(sorted({place.coldest_c, 0.0, 20.0, place.hottest_c}))


def _precharge(unit: Unit, found: Gathering) -> None:
    bottle = unit.sheet.accumulator
    if bottle is None:
        return
    for gas_c in temperatures_c(unit):
        real = precharge_pa(bottle.precharge_bar * 1e5, bottle.precharge_at_c, gas_c) / 1e5
        ideal = ideal_precharge_pa(bottle.precharge_bar * 1e5, bottle.precharge_at_c, gas_c) / 1e5
        apart = abs(real - ideal) > GAUGE_BAR
        found.add(
            f"precharge.{gas_c:g}",
            f"precharge with gas at {gas_c:g} °C",
            real,
            "bar",
            f"{_REAL}, {bottle.precharge_bar:g} bar at {bottle.precharge_at_c:g} °C",
            note=f"{_IDEAL}: {ideal:.1f} bar, out by more than a gauge" if apart else "",
        )


def _temperature(unit: Unit, found: Gathering) -> None:
    fluid = unit.sheet.fluid
    rise = pressure_per_kelvin_pa(fluid.bulk_modulus_gpa * 1e9, fluid.expansion_per_k) / 1e5
    found.add("trapped.rise", "shut-in oil without gas, rise", rise, "bar/K", "bulk modulus times expansion", digits=2)
    origin = "shut-in oil shrinks to cut-in"
    cooling_k = cooling_to_restart_k(unit)
    if cooling_k < MOST_COOLING_K:
        found.add("trapped.cooling", "cooling that makes a start", cooling_k, "K", origin, digits=2)
    if unit.charge is not None:
        lost = cooling_to_restart_k(unit, with_gas=False)
        found.add("trapped.lost", "the same with its nitrogen lost", lost, "K", origin, digits=2)

"""
A partial stroke in given conditions: time out, speed, time back, as its sheet's physics has them.

Not as a forecast, which a measured baseline does better, but for how each follows oil temperature and supply: the way
out by the orifice and the return line behind it, the way back by the pump's slip and the motor's speed. Pressures are a
balance of forces and follow neither.
"""

from collections.abc import Mapping

from commission.engineering.moving import Conditions, Mover
from commission.engineering.unit import Unit
from commission.sheet.model import Sheet


def partial_times(sheet: Sheet, oil_c: float, supply_v: float) -> Mapping[str, float]:
    """
    What the sheet's physics gives, by the figure's name, in SI units.

    Args:
        sheet: Of a unit with a partial stroke.

        oil_c: Oil temperature.

        supply_v: At the unit's terminals; a direct-current motor follows it below its nominal volts.

    Returns:
        Only what the sheet gives enough for, and what is finite.

    Raises:
        ValueError: the sheet contradicts itself, or its oil's table does not reach that temperature.
    """
    unit, plan = Unit(sheet), sheet.partial_stroke
    towards = unit.drive.spring_end
    if plan is None or towards is None:
        return {}
    if unit.oil is None or not unit.viscosity_m2_s(oil_c):
        raise ValueError(f"the sheet's oil table does not tell its viscosity at {oil_c:g} °C")
    mover, conditions = Mover(unit), Conditions(oil_c=oil_c, speed_share=speed_share(sheet, supply_v))
    target = plan.target_pct / 100
    out = {gone: mover.partial(gone, conditions) for gone in (target / 3, 2 * target / 3, target)}
    found: dict[str, float] = {}
    first, second, last = (None if stroke is None or not stroke.finishes else stroke.time_s for stroke in out.values())
    if first is not None and second is not None and last is not None:
        found = {"time_to_target": last, "speed": target / 3 / (second - first)}
    back = next((end for end in unit.drive.powered_ends if end is not towards), None)
    if back is not None:
        whole, before = (mover.to_travel_s(back, gone, conditions) for gone in (1.0, 1.0 - target))
        if whole is not None and before is not None:
            found["return_time"] = whole - before
    return found


def speed_share(sheet: Sheet, supply_v: float) -> float:
    """Share of rated pump speed: a direct-current motor follows its volts below nominal, others hardly."""
    supply = sheet.supply
    return min(1.0, supply_v / supply.motor_v) if supply.phases == "DC" else 1.0

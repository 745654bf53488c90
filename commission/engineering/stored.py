"""What the accumulator of one unit still does with the pump off, and what its oil and gas do with temperature."""

import msgspec

from commission.engineering.accumulator import ATMOSPHERE_PA, FAST, absolute_pa, strokes_left
from commission.engineering.trapped_oil import compressed_m3, cooling_for_band_k
from commission.engineering.unit import Unit
from commission.sheet.model import End


class Emergency(msgspec.Struct, frozen=True, kw_only=True):
    """
    A stroke from the accumulator with the pump off.

    Args:
        towards: The end it goes to.

        start_pa: Gauge pressure before.

        end_pa: After, the gas expanding fast.

        force_n: At the rod, at the end.

        factor: Over what the valve needs there; infinite where the sheet is silent.

        strokes: Whole strokes from `start_pa` whose end still has the force.
    """

    towards: End
    start_pa: float
    end_pa: float
    force_n: float
    factor: float
    strokes: int


def emergency(unit: Unit, start_pa: float) -> Emergency | None:
    """
    The emergency stroke from a gauge pressure; None where the accumulator drives nothing, or has not the oil for it.

    Args:
        unit: The unit.

        start_pa: Gauge; cut-in is the worst legal charge.
    """
    bottle, charge = unit.sheet.accumulator, unit.charge
    if bottle is None or charge is None or bottle.drives is None:
        return None
    towards, drive = bottle.drives, unit.drive
    stroke_m3, area_m2 = drive.stroke_m3(towards), drive.area_m2(towards)
    try:
        end_pa = charge.pressure_after_abs_pa(absolute_pa(start_pa), stroke_m3, FAST) - ATMOSPHERE_PA
    except ValueError:
        return None
    required = drive.required(0.0 if towards is End.CLOSED else 1.0, towards)
    needed_pa = drive.load_force_n(0.0 if towards is End.CLOSED else 1.0, towards) / area_m2
    available = drive.stem(0.0 if towards is End.CLOSED else 1.0, end_pa * area_m2)
    return Emergency(
        towards=towards,
        start_pa=start_pa,
        end_pa=end_pa,
        force_n=end_pa * area_m2,
        factor=available / required if required else float("inf"),
        strokes=strokes_left(charge, absolute_pa(start_pa), stroke_m3, absolute_pa(needed_pa), FAST),
    )


def shut_in_m3(unit: Unit) -> float:
    """Oil shut in with the valve held by oil: the driven side of the cylinder, full."""
    drive = unit.drive
    return max(drive.stroke_m3(end) for end in drive.powered_ends)


def band_m3(unit: Unit) -> tuple[float, float]:
    """Oil between cut-out and cut-in: what the accumulator gives, and what the oil's own compression gives."""
    gas = 0.0
    if unit.charge is not None:
        gas = unit.charge.usable_m3(absolute_pa(unit.cut_in_pa), absolute_pa(unit.cut_out_pa))
    return gas, compressed_m3(shut_in_m3(unit), unit.cut_out_pa - unit.cut_in_pa, unit.bulk_pa)


def cooling_to_restart_k(unit: Unit, *, with_gas: bool = True) -> float:
    """How far the shut-in oil cools until the motor starts, with the accumulator or with its nitrogen lost."""
    return cooling_for_band_k(
        unit.charge if with_gas else None,
        shut_in_m3(unit),
        absolute_pa(unit.cut_out_pa),
        absolute_pa(unit.cut_in_pa),
        unit.bulk_pa,
        unit.sheet.fluid.expansion_per_k,
    )


def tank_swing_m3(unit: Unit) -> float:
    """Oil that the tank gives up at most: cylinder and accumulator together at cut-out."""
    drive = unit.drive
    moved = drive.cylinder.rod_m3 if drive.double_acting else drive.stroke_m3(drive.powered_ends[0])
    held = 0.0 if unit.charge is None else unit.charge.oil_m3(absolute_pa(unit.cut_out_pa))
    return moved + held

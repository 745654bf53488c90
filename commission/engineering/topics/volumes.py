"""Areas, oil of a stroke, what the tank gives up."""

from commission.engineering.expectation import Gathering, Topic
from commission.engineering.stored import tank_swing_m3
from commission.engineering.unit import Unit
from commission.sheet.model import End

_SHEET = "bore, rod and stroke"


def volumes(unit: Unit) -> Topic:
    """Areas, displaced volumes and the tank's swing."""
    found = Gathering("Volumes")
    drive, tank = unit.drive, unit.sheet.tank
    for towards in drive.powered_ends:
        to = "open" if towards is End.OPEN else "close"
        found.add(f"area.{to}", f"area that drives to {to}", drive.area_m2(towards) * 1e4, "cm²", _SHEET, digits=4)
        oil_l = drive.stroke_m3(towards) * 1e3
        found.add(f"volume.{to}", f"oil of a full stroke to {to}", oil_l, "L", _SHEET, digits=4)
    swing_l = tank_swing_m3(unit) * 1e3
    held = "cylinder and accumulator" if not drive.double_acting else "rod and accumulator"
    found.add("tank.swing", "tank gives up at most", swing_l, "L", f"{held} at cut-out")
    lowest_l = tank.fill_l - swing_l
    stands = "above" if lowest_l > tank.low_switch_l else "BELOW"
    found.add(
        "tank.lowest",
        "tank holds at least",
        lowest_l,
        "L",
        f"{tank.fill_l:g} L at {tank.reference}",
        note=f"{stands} the low switch at {tank.low_switch_l:g} L",
    )
    _rod(unit, found)
    return found.topic


def _rod(unit: Unit, found: Gathering) -> None:
    """The mechanism's rod travel beside the sheet's stroke: a slip in either shows here."""
    rod_mm = unit.drive.mechanism.rod_m(1.0) * 1000
    stroke_mm = unit.sheet.actuator.stroke_mm
    note = "agrees with the sheet's stroke" if abs(rod_mm / stroke_mm - 1) < 0.1 else f"the sheet says {stroke_mm:g} mm"
    found.add("mechanism.rod", "rod travel by the mechanism", rod_mm, "mm", unit.sheet.actuator.mechanism, note=note)

"""How much of what the pump displaces arrived in the cylinder: its volumetric efficiency, from the time of a stroke."""

from commission.analysis.budget import Budget, Line, normal, rectangular
from commission.analysis.quantiles import two_sided_normal
from commission.engineering.drive import drive_of
from commission.figure import Figure
from commission.sheet import End, Sheet
from commission.sheet.model import Action

METHOD = "pump_seen.stroke/1"

SPEED_DOUBT = 0.05
"""How far a motor's speed may be from what its plate and its volts say (common practice, no source)."""


def pump_efficiency(motion_time: Figure, running: Figure | None, towards: End, sheet: Sheet) -> Figure | None:
    """
    Oil of the stroke over what the pump displaced in its time; None where it was not the pump that set the time.

    Args:
        motion_time: From first to last motion.

        running: Volts while the motor ran, which a direct-current motor's speed follows; None where they were not seen.

        towards: The end that the stroke goes to.

        sheet: For cylinder, pump and motor.

    Source: η_v = V/(t·D·n) (trade guide 4.8, textbook).
    """
    if sheet.actuator.action is not Action.SPRING_RETURN or motion_time.lower_bound_only:
        return None
    drive = drive_of(sheet)
    seconds = float(motion_time.decimal)
    if towards not in drive.powered_ends or seconds <= 0:
        return None
    follows = sheet.supply.phases == "DC" and running is not None
    share = float(running.decimal) / sheet.supply.motor_v if follows and running is not None else 1.0
    displaced_m3_s = sheet.pump.displacement_cm3 * 1e-6 * sheet.pump.speed_rpm / 60 * share
    efficiency = drive.stroke_m3(towards) / (seconds * displaced_m3_s)
    time_s = float(motion_time.uncertainty_decimal) / two_sided_normal()
    lines: tuple[Line, ...] = (
        normal("motion time", time_s, -efficiency / seconds),
        rectangular("speed of the motor", SPEED_DOUBT, -efficiency),
    )
    note = "at the speed that its volts give" if follows else "at rated speed"
    return Budget(lines).figure("volumetric_efficiency", efficiency, "1", METHOD, note=note)

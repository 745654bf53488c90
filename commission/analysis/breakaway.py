"""
What the valve takes to be broken away: torque or thrust at the stem, from the pressure at first motion and the spring.

At an end of travel no pair of strokes tells friction from spring (one of them begins there, the other ends there), so
the spring is the sheet's, within its tolerance. That is most of the uncertainty, and the first stroke after months is
the evidence all the same.
"""

from commission.analysis.budget import Budget, rectangular
from commission.analysis.loads import as_lines
from commission.engineering.drive import drive_of
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.model import Action, End

METHOD = "breakaway.stroke/1"

EFFICIENCY_DOUBT = 0.05
"""How far the efficiency of the mechanism may be off (common practice, no source)."""

SPRING_DOUBT_PCT = 5.0
"""How far the spring may be off where the sheet gives no tolerance (common practice, no source)."""

_WAYS = {End.OPEN: "opening", End.CLOSED: "closing"}


def breakaway_load(pressure: Figure, towards: End, sheet: Sheet) -> Figure | None:
    """
    Torque in N·m of a quarter-turn, thrust in N of a linear valve, at first motion; None for a unit without a spring.

    Args:
        pressure: `breakaway_pressure` of a stroke, with its budget.

        towards: The end that the stroke goes to.

        sheet: For spring, piston, mechanism and efficiency.

    Raises:
        ValueError: the sheet's lengths contradict each other, or a gear or arm has no radius.

    Source: balance of forces at the rod and virtual work: opening (p·A − F_s)·dx/dθ·η, closing (F_s − p·A)·dx/dθ·η
    (trade guide 4.4, computed).
    """
    spring = sheet.spring
    if spring is None or sheet.actuator.action is not Action.SPRING_RETURN:
        return None
    drive = drive_of(sheet)
    start = 0.0 if towards is End.OPEN else 1.0
    sign = 1.0 if towards in drive.powered_ends else -1.0
    area, spring_n, arm = drive.cylinder.piston_m2, drive.spring_force_n(start), drive.mechanism.arm_m(start)
    net_n = sign * (float(pressure.decimal) * area - spring_n)
    by_pressure = sign * area * arm * drive.efficiency
    tolerance = SPRING_DOUBT_PCT if spring.tolerance_pct is None else spring.tolerance_pct
    lines = (
        *(line.times(by_pressure) for line in as_lines(pressure)),
        rectangular("spring", spring_n * tolerance / 100, arm * drive.efficiency),
        rectangular("efficiency of the mechanism", EFFICIENCY_DOUBT, net_n * arm),
    )
    told = f"spring as in the sheet, within {tolerance:g} %"
    note = f"{told} (common practice, no source)" if spring.tolerance_pct is None else told
    unit = "N·m" if sheet.valve.motion == "quarter-turn" else "N"
    return Budget(lines).figure(
        f"breakaway_load_{_WAYS[towards]}", drive.stem(start, net_n), unit, METHOD, note=note
    )  # fmt: skip

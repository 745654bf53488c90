"""
Friction and spring from an opening and a closing stroke: what the valve takes, and what the spring gives.

At the same place of travel, moving slowly, the pressure that opens carries spring and friction, the pressure that lets
it close carries the spring less friction. Their difference and sum, times half the piston, are the two. Why it is worth
having: friction up and spring down lower the closing pressure alike; only the pair tells them apart.
"""

import math
from collections.abc import Mapping, Sequence

from commission.analysis.breakaway import EFFICIENCY_DOUBT, breakaway_load
from commission.analysis.budget import Budget, Line, normal, rectangular
from commission.analysis.loads import PLACES, as_lines
from commission.analysis.transmitter import OWN_ERROR
from commission.engineering.drive import drive_of
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.model import Action, End

METHOD = "pairs.friction_and_spring/1"


def piston_area_m2(sheet: Sheet) -> float:
    """Full-bore area of the cylinder, in square metres."""
    return math.pi / 4 * (sheet.actuator.bore_mm / 1000) ** 2


def friction_and_spring(
    place: float, opening: Figure, closing: Figure, area_m2: float, *, pressure_opens: bool = True
) -> tuple[Figure, Figure]:
    """
    Friction and spring force at one place of travel, in newtons at the rod.

    Args:
        place: Share of travel, from closed.

        opening: Cylinder pressure of the opening stroke there, Pa, with its budget.

        closing: That of the closing stroke.

        area_m2: Area of the piston.

        pressure_opens: Whether oil opens the valve; where it closes it, the two change places.

    Source: F_f = (p_o − p_c)·A/2 and F_s = (p_o + p_c)·A/2, balance of forces on the piston at rest or in slow motion
    without back pressure. The transmitter's own error may differ between the two pressures: it is taken as independent
    in their difference and as the same in their sum, the worse each time.
    """
    if not pressure_opens:
        opening, closing = closing, opening
    half = area_m2 / 2
    difference = (float(opening.decimal) - float(closing.decimal)) * half
    total = (float(opening.decimal) + float(closing.decimal)) * half
    up = [_named("pushing", line).times(half) for line in as_lines(opening)]
    down = [_named("let go", line).times(-half) for line in as_lines(closing)]
    number = f"{place * 100:.0f}_pct"
    return (
        Budget((*up, *down)).figure(f"friction_{number}", difference, "N", METHOD),
        Budget(_shared(up, down)).figure(f"spring_force_{number}", total, "N", METHOD),
    )


def pair_figures(opening: Mapping[str, Figure], closing: Mapping[str, Figure], sheet: Sheet) -> tuple[Figure, ...]:
    """
    Friction and spring wherever both strokes have a running pressure, and what breaks the valve away at either end;
    none for a unit without a spring.

    Args:
        opening: Figures of the opening stroke by name.

        closing: Those of the closing stroke.

        sheet: For piston and action.
    """
    if sheet.actuator.action is not Action.SPRING_RETURN:
        return ()
    area = piston_area_m2(sheet)
    found: list[Figure] = []
    for place in PLACES:
        name = f"running_pressure_{place * 100:.0f}_pct"
        if name in opening and name in closing:
            pressures = (opening[name], closing[name])
            both = friction_and_spring(place, *pressures, area, pressure_opens=sheet.actuator.pressure_opens)
            found += [*both, valve_load(place, both[0], sheet)]
    for towards, figures in ((End.OPEN, opening), (End.CLOSED, closing)):
        if "breakaway_pressure" in figures:
            load = breakaway_load(figures["breakaway_pressure"], towards, sheet)
            found += [] if load is None else [load]
    return tuple(found)


def valve_load(place: float, friction: Figure, sheet: Sheet) -> Figure:
    """
    What the valve takes at one place of travel: torque in N·m of a quarter-turn, thrust in N of a linear one.

    Args:
        place: Share of travel, from closed.

        friction: Force at the rod there, N, with its budget.

        sheet: For mechanism and efficiency.

    Raises:
        ValueError: the sheet's lengths contradict each other, or a gear or arm has no radius.

    Source: virtual work, T = F·η·dx/dθ (trade guide 4.2 and 4.4, computed); the efficiency is known to ± 0.05 (common
    practice, no source).
    """
    drive = drive_of(sheet)
    arm = drive.mechanism.arm_m(place)
    load = float(friction.decimal) * arm * drive.efficiency
    spread = math.sqrt(math.fsum(float(line.contribution) ** 2 for line in friction.budget))
    doubt = rectangular("efficiency of the mechanism", EFFICIENCY_DOUBT, float(friction.decimal) * arm)
    lines = (normal("friction at the rod", spread, arm * drive.efficiency), doubt)
    unit = "N·m" if sheet.valve.motion == "quarter-turn" else "N"
    return Budget(lines).figure(f"valve_load_{place * 100:.0f}_pct", load, unit, METHOD)


def _named(way: str, line: Line) -> Line:
    return Line(
        name=f"{line.name}, {way}" if not line.name.startswith(OWN_ERROR) else line.name,
        shape=line.shape,
        width=line.width,
        top_ratio=line.top_ratio,
        degrees_of_freedom=line.degrees_of_freedom,
        sensitivity=line.sensitivity,
    )


def _shared(up: Sequence[Line], down: Sequence[Line]) -> tuple[Line, ...]:
    """The same lines where the transmitter's own error is one and the same in both, so that its effects add up."""
    own_up = [line for line in up if line.name.startswith(OWN_ERROR)]
    own_down = [line for line in down if line.name.startswith(OWN_ERROR)]
    rest = [line for line in (*up, *down) if not line.name.startswith(OWN_ERROR)]
    if own_up and own_down and own_up[0].name == own_down[0].name:
        return (*rest, own_up[0].times(2.0))
    return (*rest, *own_up, *own_down)

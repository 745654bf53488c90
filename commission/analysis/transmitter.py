"""
What the instrument behind a point adds to a budget: its own error, and the last digit of its register.

A transmitter's error is the same from one stroke to the next, so it is left out where runs of one unit are compared and
put in where a figure is held against the world.
"""

from commission import quantity
from commission.analysis.budget import Line, rectangular, resolution
from commission.sheet import ROLES, Sheet

OWN_ERROR = "transmitter"
"""How the line of a transmitter's own error begins, wherever it is printed."""


def digit_step(sheet: Sheet, role: str) -> float:
    """One count of the point's register in the role's unit; 0 for a floating-point register or no point."""
    point = sheet.point(role)
    if point is None or point.type == "f32":
        return 0.0
    return abs(point.scale * quantity.conversion(point.unit, ROLES[role].unit or "1").scale)


def own_error(sheet: Sheet, role: str) -> Line | None:
    """The transmitter's own error by its data sheet, in the role's unit; None where the sheet does not give it."""
    point = sheet.point(role)
    if point is None or point.transmitter is None:
        return None
    given = point.transmitter
    by_range = (given.high - given.low) * given.accuracy_pct / 100
    half = quantity.conversion(point.unit, ROLES[role].unit or "1").apply_difference(by_range)
    words = f"{OWN_ERROR}, {given.accuracy_pct:g} % of {given.low:g} to {given.high:g} {point.unit}"
    return rectangular(words, abs(half))


def instrument_lines(sheet: Sheet, role: str) -> tuple[Line, ...]:
    """Own error and last digit, as far as there are any."""
    found = [line for line in (own_error(sheet, role),) if line is not None]
    step = digit_step(sheet, role)
    if step:
        found.append(resolution("last digit of the register", step))
    return tuple(found)

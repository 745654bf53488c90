"""A reading as the trade reads it: value and unit, or the word of a bit; one wording for table and screen."""

from commission.sheet import ROLES, RoleKind

_UNITS = {"Pa": ("bar", 1e-5, 1), "1": ("", 1.0, 3), "A": ("A", 1.0, 3), "V": ("V", 1.0, 2), "degC": ("°C", 1.0, 1)}
"""For each unit of a reading: the unit shown, the factor to it, and decimal places."""

_SHARES = ("travel", "fluid_level")
_LOOPS = ("feedback_current", "command_current")


def reading_words(value: float, role: str) -> tuple[str, str]:
    """
    A value and its unit as people read them.

    Args:
        value: In the unit of the role.

        role: What it means.
    """
    known = ROLES[role]
    if known.kind is RoleKind.BIT:
        return (known.true_word if value else known.false_word), ""
    if role in _SHARES:
        return f"{value * 100 + 0.0:.1f}", "%"
    if role in _LOOPS:
        return f"{value * 1000:.3f}", "mA"
    if known.unit == "1" and value == int(value):
        return str(int(value)), ""
    name, factor, places = _UNITS.get(known.unit, (known.unit, 1.0, 1))
    return f"{value * factor:.{places}f}", name

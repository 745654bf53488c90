"""
What a fitter or an electrician sets right when a finding calls for it: each ends one planted finding of a unit.

`acts.perform` calls it. What would put hands where the motor or the heater is fed is refused until its isolator is off.
"""

from collections.abc import Callable

from msgspec.structs import replace

from commission.practice.hydraulics import Hydraulics
from commission.practice.unit import PracticeUnit


class NotRepaired(ValueError):
    """Nobody could do that here, or not now."""


def put_right(unit: PracticeUnit, name: str) -> None:
    """
    End one finding, whether the unit has it or not.

    Raises:
        NotRepaired: there is nothing of that name on this unit, or its supply is still on.
    """
    if name not in REPAIRS:
        raise NotRepaired(f"put_right: {name!r}, expected {', '.join(REPAIRS)}")
    REPAIRS[name](unit)


def _heater(unit: PracticeUnit) -> None:
    if unit.sheet.environment.heater_w is None:
        raise NotRepaired(f"{unit.sheet.identity.tag} has no heater")
    if unit.side.heater_isolator:
        raise NotRepaired("the heater's supply is on: a licensed electrician works on it dead and locked")
    unit.climate.heater_dead = False


def _alarm_contact(unit: PracticeUnit) -> None:
    unit.condition = replace(unit.condition, alarm_contact_inverted=False)


def _rotation(unit: PracticeUnit) -> None:
    _motor_is_off(unit)
    if unit.electrics.phases_reversed:
        unit.electrics.turn_right()


def _feedback(unit: PracticeUnit) -> None:
    unit.sensor.feedback_ma_at = ()


def _coupling(unit: PracticeUnit) -> None:
    _motor_is_off(unit)
    unit.play_pct = 0.0


def _needle(unit: PracticeUnit) -> None:
    if not isinstance(unit.hydraulics, Hydraulics):
        raise NotRepaired(f"{unit.sheet.identity.tag} has flow controls and no needle")
    _motor_is_off(unit)
    unit.hydraulics.outlets.set_needles(1.0)


def _motor_is_off(unit: PracticeUnit) -> None:
    if unit.side.motor_isolator:
        raise NotRepaired("the motor's supply is on: locked off first")


REPAIRS: dict[str, Callable[[PracticeUnit], None]] = {
    "heater": _heater,
    "alarm contact": _alarm_contact,
    "rotation": _rotation,
    "feedback": _feedback,
    "coupling": _coupling,
    "needle": _needle,
}
"""What can be set right, by the name it is asked for."""

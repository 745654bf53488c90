"""
Which machine and which control unit a sheet asks for.

A machine is the oil side (`hydraulics`, `double_acting`); a board is the control unit (`onboard`, `follower`).
"""

from msgspec.structs import replace

from commission.practice.condition import Condition
from commission.practice.double_acting import DoubleActing
from commission.practice.follower import Follower
from commission.practice.hydraulics import Hydraulics
from commission.practice.mechanism import Mechanism
from commission.practice.onboard import Onboard
from commission.practice.settings import Settings
from commission.sheet import Action, Sheet

Machine = Hydraulics | DoubleActing
Board = Onboard | Follower


def machine_of(sheet: Sheet, condition: Condition) -> Machine:
    """
    The oil side that a sheet describes.

    Raises:
        NotServed: it leaves out what the motion follows from.
    """
    if sheet.actuator.action is Action.DOUBLE_ACTING:
        return DoubleActing(sheet, condition)
    return Hydraulics(sheet, condition, Mechanism(sheet, condition))


def board_of(sheet: Sheet, settings: Settings, condition: Condition) -> Board:
    """
    The control unit that a sheet describes, its pressure switch set as it was found.

    Raises:
        NotServed: it does not say how the unit follows its command.
    """
    pump = sheet.pump
    cut_in_bar, cut_out_bar = condition.cut_in_bar or pump.cut_in_bar, condition.cut_out_bar or pump.cut_out_bar
    as_found = replace(sheet, pump=replace(pump, cut_in_bar=cut_in_bar, cut_out_bar=cut_out_bar))
    if sheet.actuator.action is Action.DOUBLE_ACTING:
        return Follower(as_found, settings, condition)
    return Onboard(as_found, settings)

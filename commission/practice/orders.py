"""
What a control unit is told and sees: who may order what from where, its inputs, and what every kind of unit does alike.

The alarm relay is energised when healthy; its common conditions, and what every order and reset must pass first, are
here. `onboard` and `follower` are the two kinds of unit that have it.
"""

from enum import StrEnum

import msgspec

from commission.sheet import Sheet

_SUPPLY_SHARE = 0.9
_SUPPLY_S = 2.0
_UNTIL_RESET = frozenset({"alarm_run_time", "alarm_starts", "alarm_travel"})


class Selector(StrEnum):
    """Positions of the selector."""

    LOCAL = "LOCAL"
    OFF = "OFF"
    REMOTE = "REMOTE"


class Order(StrEnum):
    """What somebody may tell the unit."""

    OPEN = "open"
    CLOSE = "close"
    STOP = "stop"
    RESET = "reset"
    PARTIAL_STROKE = "partial stroke"
    ESD_TEST = "ESD test"
    FOLLOW_LINK = "follow the link"
    FOLLOW_LOOP = "follow the loop"


class Wanted(StrEnum):
    """What the unit is about."""

    OPEN = "open"
    CLOSED = "closed"
    STOPPED = "stopped"


class Refused(Exception):  # what the unit answers, not a fault of the program
    """The unit does not take this command now; the text says why."""


class Inputs(msgspec.Struct, frozen=True, kw_only=True):
    """What the control unit sees in one scan."""

    now_s: float
    travel_pct: float
    open_limit: bool
    closed_limit: bool
    pressure_pa: float
    fluid_low: bool
    supply_v: float
    esd_loop: bool
    selector: Selector
    hand_lever_stowed: bool
    pipeline_pa: float
    link_silent_s: float
    system_pa: float = 0.0
    command: float = 0.0
    oil_cold: bool = False
    pushed_home: bool = False


class Relay:
    """
    The alarms of one unit, and the relay that they drop.

    Args:
        sheet: Its control supply, and how long it bears silence on its link.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.alarms: set[str] = set()
        self.contact_lost = False
        self._nominal_v = sheet.supply.control_v
        self._silence_s = sheet.link.guard_s
        self._low_supply_s = 0.0

    @property
    def energised(self) -> bool:
        """Whether there is neither an alarm nor a silence of the link."""
        return not self.alarms and not self.contact_lost

    def watch(self, seconds: float, seen: Inputs) -> None:
        """The conditions that show and go by themselves, `seconds` after the scan before."""
        low_supply = seen.supply_v < _SUPPLY_SHARE * self._nominal_v
        self._low_supply_s = self._low_supply_s + seconds if low_supply else 0.0
        self.show("alarm_supply", active=self._low_supply_s > _SUPPLY_S)
        self.show("alarm_fluid", active=seen.fluid_low)
        self.show("alarm_oil_cold", active=seen.oil_cold)
        self.show("alarm_not_automatic", active=seen.selector is not Selector.REMOTE or not seen.hand_lever_stowed)
        self.contact_lost = self._silence_s is not None and seen.link_silent_s > self._silence_s

    def show(self, role: str, *, active: bool) -> None:
        """Have an alarm on or off."""
        if active:
            self.alarms.add(role)
        else:
            self.alarms.discard(role)

    def reset(self, seen: Inputs, *, remote: bool) -> None:
        """
        Clear the alarms that stay until somebody resets them.

        Raises:
            Refused: from the link while the selector does not point there, or the ESD loop is open.
        """
        if remote:
            demand_place(seen, remote=True)
        if not seen.esd_loop:
            raise Refused("ESD loop open")
        self.alarms -= _UNTIL_RESET


def demand_place(seen: Inputs, *, remote: bool) -> None:
    """
    An order is taken from where the selector points.

    Raises:
        Refused: it points elsewhere.
    """
    if seen.selector is not (Selector.REMOTE if remote else Selector.LOCAL):
        raise Refused(f"selector in {seen.selector}")

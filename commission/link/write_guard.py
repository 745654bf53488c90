"""
Which write may go (safety rules R8 and R9). Whatever cannot be shown to be allowed is refused.

| class          | energy state      | leave | more                                                              |
|----------------|-------------------|-------|-------------------------------------------------------------------|
| stop           | any               | no    | repeatedly, ahead of any queue                                    |
| setting, reset | control or live   | no    |                                                                   |
| motion         | live              | yes   | its point was pulsed in control and its effect seen               |
| motion, pulse  | control           | yes   | pressure seen zero and valve seen at its fail position            |

Unit identifier 0 is never written.
"""

import msgspec

from commission.leave import LeaveSlot
from commission.link.encode import words_of
from commission.link.faults import WriteRefused
from commission.sheet import ROLES, Point, RoleKind, Sheet, WriteClass

_CONTROL = "control"
_LIVE = "live"
_FREE_VALUE_ROLES = frozenset({"set_point"})
"""Commands whose value is a measurement to follow, bounded by leave; every other command is on or off."""


class EnergyView(msgspec.Struct, frozen=True):
    """
    The energy state as the caller knows it at the moment of a write.

    Args:
        state: `locked`, `pumping`, `control`, `live`, `in operation` or `unknown`.

        generation: Counts energy, lock, selector and session events; leave given in another is stale.

        proved: Roles of the motion points that were pulsed in control and whose effect was seen.

        at_rest: Pressure was seen zero and the valve at its fail position: a motion point may be pulsed.
    """

    state: str
    generation: int
    proved: frozenset[str] = frozenset()
    at_rest: bool = False


class WriteGuard:
    """
    Decides for each write.

    Args:
        sheet: The unit's sheet.

        leave: The one slot of leave.

        unit_id: The unit that is written.
    """

    def __init__(self, sheet: Sheet, leave: LeaveSlot, unit_id: int) -> None:
        self._sheet = sheet
        self._leave = leave
        self._unit_id = unit_id

    def admit(self, role: str, value: float, view: EnergyView, now_ns: int) -> Point:
        """
        The point to write, if it may be written now.

        Raises:
            WriteRefused: with the reason in words.
        """
        refusal = self.refusal(role, value, view, now_ns)
        point = self._sheet.point(role)
        if refusal is not None or point is None:
            raise WriteRefused(refusal or "not in the sheet")
        return point

    def refusal(self, role: str, value: float, view: EnergyView, now_ns: int) -> str | None:
        """Why writing `value` (raw, as on the wire) to this role is not allowed now, or None where it is."""
        if self._unit_id == 0:
            return "unit identifier 0 means every unit on the line; it is never written"
        point = self._sheet.point(role)
        if point is None or point.write is None:
            return f"the sheet names no point to write for {role!r}"
        return self._wrong_value(point, value) or self._wrong_state(point, value, view, now_ns)

    def _wrong_value(self, point: Point, value: float) -> str | None:
        label = ROLES[point.role].label
        on_or_off = ROLES[point.role].kind is RoleKind.COMMAND and point.role not in _FREE_VALUE_ROLES
        if on_or_off and value not in (0, point.value):
            return f"{label} takes {point.value} (or 0 to release it), not {value:g}"
        try:
            words_of(self._sheet, point, value)
        except WriteRefused as refusal:
            return str(refusal)
        return None

    def _wrong_state(self, point: Point, value: float, view: EnergyView, now_ns: int) -> str | None:
        label = ROLES[point.role].label
        if point.write is WriteClass.STOP:
            return None
        if point.write in (WriteClass.SETTING, WriteClass.RESET):
            allowed = view.state in (_CONTROL, _LIVE)
            return None if allowed else f"{label} is written in control or live only; the state is {view.state}"
        return self._no_motion(point, value, view, now_ns)

    def _no_motion(self, point: Point, value: float, view: EnergyView, now_ns: int) -> str | None:
        label = ROLES[point.role].label
        if view.state == _CONTROL:
            if not view.at_rest:
                return f"{label} is pulsed in control only with pressure zero and the valve at its fail position"
        elif view.state != _LIVE:
            return f"{label} moves the valve: it is written live only; the state is {view.state}"
        elif point.role not in view.proved:
            return f"{label} has not been proved by a pulse in control"
        if value != int(value):
            return f"{label}: leave names whole raw values, not {value:g}"
        return self._leave.refusal(point.role, int(value), now_ns, view.generation)

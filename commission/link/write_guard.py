"""
Which write may go (safety rules R8 and R9). Whatever cannot be shown to be allowed is refused.

| class          | energy state      | leave | more                                                              |
|----------------|-------------------|-------|-------------------------------------------------------------------|
| stop           | any               | no    | repeatedly, ahead of any queue                                    |
| setting, reset | control or live   | no    |                                                                   |
| motion         | live              | yes   | its point was pulsed in control and its effect seen               |
| motion, pulse  | control           | yes   | pressure seen zero and valve seen at its fail position            |

A set point (rule R14) besides: within the sheet's travel, no farther from the one before it in the same leave than the
sheet's step, and no faster than the sheet's rate. That the first one is the measured position is the supervisor's to
see, which knows the reading.

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


_ROUNDING_PCT = 0.011
"""A set point is written in hundredths of a per cent."""


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
        self._last_set: tuple[str, float, int] | None = None

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
        if role in _FREE_VALUE_ROLES:
            leave = self._leave.current
            self._last_set = ("" if leave is None else leave.test, self._percent(point, value), now_ns)
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
        if point.role in _FREE_VALUE_ROLES and (beyond := self._beyond_the_sheet(point, value, now_ns)):
            return beyond
        if value != int(value):
            return f"{label}: leave names whole raw values, not {value:g}"
        return self._leave.refusal(point.role, int(value), now_ns, view.generation)

    def _beyond_the_sheet(self, point: Point, value: float, now_ns: int) -> str:
        """Why a set point is farther or faster than the sheet allows; empty where it is not (safety rule R14)."""
        plan = self._sheet.modulating
        if plan is None or plan.set_point_step_pct is None or plan.set_point_rate_pct_s is None:
            return "the sheet gives no largest step and rate of a set point over the link: none is written"
        percent = self._percent(point, value)
        if not 0 <= percent <= 100:
            return f"a set point of {percent:g} % is outside travel"
        leave = self._leave.current
        if self._last_set is None or leave is None or self._last_set[0] != leave.test:
            return ""
        _, last_pct, last_ns = self._last_set
        apart_pct, elapsed_s = abs(percent - last_pct), (now_ns - last_ns) / 1e9
        if apart_pct > plan.set_point_step_pct + _ROUNDING_PCT:
            return f"a step of {apart_pct:g} % of travel, and the sheet allows {plan.set_point_step_pct:g} %"
        if apart_pct > plan.set_point_rate_pct_s * elapsed_s + _ROUNDING_PCT:
            return f"{apart_pct:g} % in {elapsed_s:.2f} s, and the sheet allows {plan.set_point_rate_pct_s:g} %/s"
        return ""

    @staticmethod
    def _percent(point: Point, value: float) -> float:
        return value * point.scale

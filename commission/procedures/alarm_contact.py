"""
N8: the alarm contact in its four states, in volts, in control (safety rule R5: never ohms on a live loop).

Healthy, in alarm, without power, with a core parted: the last three must look the same to the control room, and none of
them like healthy. A contact chosen from a drawing that says "NC" is silent when the unit dies.
"""

from collections.abc import Generator, Mapping

from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.procedures.onlooker import CANNOT, Onlooker
from commission.procedures.requests import Answer, Ask, Note, Procedure, Reply, Request
from commission.procedures.wiring_contacts import looking
from commission.sheet import Sheet

STATES: Mapping[str, str] = {
    "healthy": "Everything healthy, RESET pressed, no alarm at the panel",
    "alarm": "Cause one alarm, as by lifting the float of the level switch",
    "power off": "Take the cause away. Then control power off at its isolator",
    "wire cut": "Control power on again, RESET. Then part one core of the contact's cable",
}
"""What people do for each state, one after the other."""

APART_V = 2.0
"""Closer than this two voltages are one (common practice, no source)."""


def alarm_contact(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[WiringSeen]:
    """
    Volts and the control room's word in each state.

    Args:
        sheet: The unit's sheet.

        arguments: `test` names the run.

    Returns:
        Each state with what was measured and read.

    Raises:
        ValueError: the unit has no alarm relay.
    """
    if not sheet.has("alarm_relay"):
        raise ValueError("the sheet has no alarm relay")
    yield looking(sheet, arguments.get("test", "alarm contact"))
    seen = Onlooker()
    points: list[PointSeen] = []
    volts: dict[str, float] = {}
    for state, do in STATES.items():
        point, value = yield from _state(seen, state, do)
        points.append(point)
        if value is not None:
            volts[state] = value
    yield from seen.ask(Ask("contact whole", "Join the core again, everything healthy. Type: done"))
    judged = tuple(_judged(point, volts) for point in points)
    for point in judged:
        yield Note(f"{'SEEN' if point.is_right else 'NOT SO'}  {point.forced}: {point.words or point.seen}", loud=True)
    return WiringSeen(points=judged)


def _state(seen: Onlooker, state: str, do: str) -> Generator[Request, Reply, tuple[PointSeen, float | None]]:
    yield Note(f"NEXT  {do}", loud=True)
    done = yield from seen.ask(Ask(f"contact {state}", f"{do}. Then type: done. (Or: cannot, and why)"))
    if done.lower().startswith(CANNOT):
        return _point(state, "not made", Finding.NOT_FORCED, words=done), None
    answer = yield Ask(f"volts {state}", f"{state}: volts on the contact's loop, at the terminals", "number", "V")
    room = yield from seen.ask(Ask(f"room {state}", f"{state}: what does the control room show?"))
    value = answer.value if isinstance(answer, Answer) else None
    by = "" if seen.answer is None else seen.answer.by
    measured = "no number" if value is None else f"{value:g} V"
    return _point(state, measured, Finding.RIGHT, room=room, by=by), value


def _point(state: str, seen: str, finding: Finding, *, words: str = "", room: str = "", by: str = "") -> PointSeen:
    return PointSeen(
        role="alarm_relay", forced=f"alarm contact, {state}", seen=seen, finding=finding, words=words,
        read_back=room, seen_by=by,
    )  # fmt: skip


def _judged(point: PointSeen, volts: Mapping[str, float]) -> PointSeen:
    """Each state but healthy must be far from healthy and like alarm."""
    state = point.forced.removeprefix("alarm contact, ")
    if point.finding is not Finding.RIGHT or state == "healthy" or not {state, "healthy", "alarm"} <= volts.keys():
        return point
    words = ""
    if abs(volts[state] - volts["healthy"]) < APART_V:
        words = (
            f"With {state} it looks healthy: silent when it matters. The contact is the wrong one; mark the drawing."
        )
    elif abs(volts[state] - volts["alarm"]) >= APART_V:
        words = f"With {state} it looks neither like healthy nor like alarm."
    if not words:
        return point
    return PointSeen(
        role=point.role, forced=point.forced, seen=point.seen, finding=Finding.INVERTED, words=words,
        read_back=point.read_back, seen_by=point.seen_by,
    )  # fmt: skip

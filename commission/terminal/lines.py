"""What the lines of every screen say: the energy state and the data's age, the permit, what the stop key does."""

from commission.clock import NS_PER_S
from commission.terminal.desk import Desk

STOP_KEY = "SPACE"
RETURN_KEY = "R"
"""Brings the valve back in a partial stroke, where the stop key holds it."""


def state(desk: Desk, width: int = 80) -> str:
    """Tag, energy state with whose word and when, and the age of the data, which is never cut off."""
    visit = desk.visit
    if visit is None:
        return " commission   not a safety system: site procedure, permits and people win"
    from commission.walk.state_line import state_line  # noqa: PLC0415  # after the first paint

    practice = "PRACTICE " if visit.job.practice else ""
    left, right = f" {practice}{visit.job.tag}  {state_line(visit.job)}", age(desk)
    room = max(1, width - len(right) - 2)
    left = left if len(left) <= room else f"{left[: room - 2]}.."
    return f"{left:<{room}}  {right}"


def age(desk: Desk) -> str:
    """How old the newest reading is; *now* only while it is."""
    visit = desk.visit
    if visit is None or visit.link is None:
        return "no line"
    if not visit.job.contact.up:
        return "NO CONTACT"
    age_s = visit.link.health.age_s(visit.clock.unit_ns())
    if age_s is None:
        return "no reading yet"
    wire_s = age_s / visit.clock.speed
    return f"now, {wire_s:.1f} s" if wire_s < 3 else f"OLD, {wire_s:.0f} s"


def permit(desk: Desk) -> str:
    """Minutes to the permit's end, always in sight."""
    visit = desk.visit
    if visit is None:
        return ""
    from commission.walk.state_line import permit_words  # noqa: PLC0415  # after the first paint

    return permit_words(visit.job, visit.clock.utc())


def stop(desk: Desk, *, field_focused: bool, width: int = 80) -> tuple[str, bool]:
    """What the stop key does now, in `width` columns, and whether a motion is open (safety rule R11)."""
    visit = desk.visit
    if visit is None:
        return " No unit is connected", False
    from commission.procedures.requests import SafeEnd  # noqa: PLC0415  # after the first paint
    from commission.supervise.stop_field import stop_field  # noqa: PLC0415  # as above

    sheet, link = visit.job.sheet, visit.link
    view = None if visit.supervisor is None else visit.supervisor.view
    make_safe_s = None if link is None else link.facts.make_safe_s
    begun = None if visit.supervisor is None else visit.supervisor.begun
    if view is not None and begun is not None and begun.agreed_end is None:
        return " " + stop_field(sheet, None, make_safe_s, STOP_KEY, width - 1), True
    if view is not None and begun is not None:
        ending = " ENDING. " if view.ending else " "
        back = RETURN_KEY if begun.stop_command is not None else ""
        return ending + stop_field(sheet, begun.safe_end, make_safe_s, STOP_KEY, width - len(ending), back), True
    if link is None or sheet.point("command_stop") is None:
        return f" Nothing here stops anything. Local: {sheet.behaviour.local_stop}", False
    if not visit.job.contact.up:
        return f" NO CONTACT: STOP by {STOP_KEY} may not arrive. Local: {sheet.behaviour.local_stop}", False
    at_rest = " Esc, then " if field_focused else " No motion from here. "
    return at_rest + stop_field(sheet, SafeEnd.STOP, make_safe_s, STOP_KEY, width - len(at_rest)), False


def seconds(nanoseconds: int) -> float:
    """Nanoseconds as seconds."""
    return nanoseconds / NS_PER_S

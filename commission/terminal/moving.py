"""What the running test says, as plain lines: time, command, readings, guards and how near each is, and the stop."""

import textwrap
from collections.abc import Mapping

from commission.clock import NS_PER_S
from commission.job.motions import Run
from commission.procedures.guards import nearness
from commission.procedures.requests import Begin, Guard
from commission.sheet import Sheet
from commission.sheet.decode import Readings
from commission.supervise.order import MotionView
from commission.supervise.safe_end import SafeEndSeen, life_s

_SHOWN = (
    ("travel", "travel", 100.0, "%"),
    ("cylinder_pressure", "pressure", 1e-5, "bar"),
    ("motor_current", "motor", 1.0, "A"),
    ("feedback_current", "feedback", 1e3, "mA"),
    ("command_current", "command", 1e3, "mA"),
)
_COMMAND = {
    "": "no command yet",
    "sent": "command sent: proves nothing yet",
    "answered": "command answered: proves little",
    "unanswered": "command NOT answered: it may have been sent",
    "refused": "command REFUSED by the unit",
    "received": "command RECEIVED",
    "moving": "MOVING",
}
"""How far the command has got; only the last two count (safety rule R12)."""


def heading(view: MotionView, begun: Begin, now_ns: int) -> str:
    """Test, time since it began and its longest legal run, and how far the command has got."""
    command = _COMMAND.get(view.command, view.command) if begun.commands else "this test commands nothing"
    word = "ENDING" if view.ending else command
    elapsed_s = (now_ns - view.begun_ns) / NS_PER_S
    return f"{view.test}   {elapsed_s:.1f} s of at most {begun.longest_s:.0f} s   {word}"


def readings(view: MotionView) -> str:
    """The values now; where the unit is silent, that and nothing else (safety rule R18)."""
    if view.silence is not None:
        return f"NO ANSWER: {view.silence.reason}. Stay clear; look at the stem."
    latest = view.latest
    if latest is None:
        return "waiting for the first reading"
    parts = []
    for role, name, factor, unit in _SHOWN:
        value = latest.value(role)
        if value is not None:
            places = 2 if unit == "mA" else 1
            parts.append(f"{name} {value * factor:.{places}f} {unit}")
    return "   ".join(parts)


def guard_lines(begun: Begin, latest: Readings | None, silent_s: float, width: int, *, bits: bool = True) -> list[str]:
    """
    What would abort the motion: each limit with how near it is, then the conditions that only hold or do not.

    Args:
        begun: What the motion began with.

        latest: The newest readings.

        silent_s: Wire time since the unit was heard.

        width: Columns there are.

        bits: Whether there is room for the conditions that only hold or do not.
    """
    near = [f"silence {silent_s:.1f} of {begun.gap_s:g} s", *_near(begun.guards, latest)]
    held = [name for name, guard in begun.guards.items() if latest is None or not nearness(guard, latest)]
    lines = textwrap.wrap(f"Limits   {', '.join(near)}", width, subsequent_indent=" " * 9)
    if not bits:
        return lines
    return lines + textwrap.wrap(f"Watched  {', '.join(held) or 'nothing more'}", width, subsequent_indent=" " * 9)


def _near(guards: Mapping[str, Guard], latest: Readings | None) -> list[str]:
    if latest is None:
        return []
    return [f"{name} {words}" for name, guard in guards.items() if (words := nearness(guard, latest))]


def stopping(run: Run | None, sheet: Sheet, since_s: float) -> str:
    """
    What became of the stop so far: sent, answered, and how long it is still tried (safety rule R10).

    Args:
        run: The open run.

        sheet: The unit's sheet, for its own guard.

        since_s: Wire time since the motion began to end.
    """
    sent = () if run is None else tuple(body for body in run.sent if body.purpose == "safe end")
    left_s = max(0.0, life_s(sheet.link.guard_s) - since_s)
    if not sent:
        return "ENDING: it counts only when the valve is seen at rest"
    word = "STOP" if sent[-1].role == "command_stop" else "RETURN"
    return f"{word} sent {len(sent)} x, {sent[-1].outcome}; not seen at rest yet, tried for {left_s:.1f} s more"


def own_guard(run: Run | None, begun: Begin, now_ns: int) -> str:
    """After a stop: until when the unit's own guard ends the motion whatever becomes of the stop (safety rule R11)."""
    started = None if run is None else next((body for body in run.sent if body.purpose == "procedure"), None)
    if started is None or begun.own_guard_s is None:
        return ""
    left_s = begun.own_guard_s - (now_ns - started.at_ns) / NS_PER_S
    return f"The unit's own guard acts in {left_s:.0f} s at the latest. " if left_s > 0 else ""


def outcome(run: Run, sheet: Sheet) -> str:
    """What became of the safe end, for people who stand near the valve; empty where none was needed."""
    if run.ended is None:
        return ""
    local = f"Local stop: {sheet.behaviour.local_stop}."
    match run.ended.safe_end:
        case SafeEndSeen.CONFIRMED:
            sent = [body.role for body in run.sent if body.purpose == "safe end"]
            returned = run.begun.safe_end == "return" and sent[-1:] != ["command_stop"]
            if not returned and run.begun.safe_end == "return":
                return "STOP confirmed: the valve is seen at rest, not at its end. The next step brings it back."
            return "RETURN seen." if returned else "STOP confirmed: the valve is seen at rest."
        case SafeEndSeen.UNCONFIRMED:
            return f"NOT CONFIRMED. Stay clear; look at the stem. {local}"
        case SafeEndSeen.WITHHELD:
            who = run.ended.reason if run.tripped is None else run.tripped.reason
            return f"NOTHING WAS SENT, the valve is not this laptop's: {who}. Stay clear. {local}"
    return ""

"""
K1, L: bring the valve back to the end that a stroke began at, from wherever it was stopped.

A movement of its own, confirmed in full. Where it stands at its end already, because somebody brought it back by local
control meanwhile, that is seen and nothing is sent.
"""

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.procedures.full_stroke import MOTOR_STOPS_WITHIN_S, Stroke, begin_stroke, travel_timeout_s
from commission.procedures.guards import stroke_guards
from commission.procedures.partial_bounds import start_end
from commission.procedures.requests import Command, Note, Procedure
from commission.sheet import End, Sheet

STILL_S = 1.0


def bring_back(sheet: Sheet, test: str, end: End | None = None) -> Procedure[StrokeObserved]:
    """
    Go to the start end of a stroke from anywhere.

    Args:
        sheet: The unit's sheet.

        test: Names the run.

        end: Where to; None for the end that a partial stroke leaves.

    Returns:
        All that was seen; nothing of it is timed, for it begins anywhere.

    Raises:
        ValueError: the unit has no point for the command or the limit.
    """
    end = end or start_end(sheet)
    stroke = Stroke(sheet, end, test)
    timeout_s = travel_timeout_s(sheet, end)
    yield begin_stroke(stroke, stroke_guards(sheet, end), STILL_S + timeout_s + MOTOR_STOPS_WITHIN_S + STILL_S)
    yield from stroke.watch_for(STILL_S)
    if stroke.is_home:
        words = f"seen at its {end} end; nothing was sent"
        yield Note(words)
        return stroke.observed(StrokeEnd.HOME, words, commanded_by="local control")
    if not_still := stroke.why_not_still():
        yield Note(not_still)
        return stroke.observed(StrokeEnd.NOT_READY, not_still)
    stroke.take_command((yield Command(stroke.command.role, stroke.command.value)))
    if stroke.refused:
        return stroke.observed(StrokeEnd.REFUSED, stroke.refused)
    home = yield from stroke.watch_until_home(timeout_s)
    if not home:
        words = f"not at its {end} end in {timeout_s:g} s: VALVE UNAVAILABLE, tell the controller now"
        yield Note(words)
        return stroke.observed(StrokeEnd.TIMED_OUT, words)
    yield from stroke.watch_until_motor_stops(MOTOR_STOPS_WITHIN_S)
    return stroke.observed(StrokeEnd.HOME, f"brought back to its {end} end")


def is_back(observed: StrokeObserved) -> tuple[bool, str]:
    """Whether it was seen at its end, and in words."""
    return observed.ended is StrokeEnd.HOME, observed.why or observed.ended.value

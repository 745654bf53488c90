"""
K1, watched: time a full stroke that somebody else commands (safety rule R19).

Nothing is sent from here. Its beginning is not known to the laptop, so its time is "at least" what was seen: it can
fail
an upper limit and never pass one.
"""

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.procedures.full_stroke import MOTOR_STOPS_WITHIN_S, Stroke, travel_timeout_s, watched_roles
from commission.procedures.requests import Begin, Note, Procedure, SafeEnd
from commission.sheet import End, Sheet

BEGINS_WITHIN_S = 180.0
"""How long the command is waited for, in unit time."""


def watched_stroke(sheet: Sheet, direction: End, test: str, commanded_by: str) -> Procedure[StrokeObserved]:
    """
    One full stroke commanded elsewhere.

    Args:
        sheet: The unit's sheet.

        direction: The end it goes to.

        test: Names the run.

        commanded_by: Who commands it, as `control room`.

    Returns:
        All that was seen, without a command of ours.

    Raises:
        ValueError: the unit lacks a limit that the stroke is watched by.
    """
    stroke = Stroke(sheet, direction, test)
    timeout_s = travel_timeout_s(sheet, direction)
    yield Begin(
        test=test,
        commands=(),
        safe_end=SafeEnd.SEND_NOTHING,
        safe_command=None,
        guards={},
        roles=watched_roles(sheet),
        longest_s=BEGINS_WITHIN_S + timeout_s + MOTOR_STOPS_WITHIN_S,
        gap_s=BEGINS_WITHIN_S,
    )
    yield from stroke.watch_for(1.0)
    if not_ready := stroke.why_not_ready():
        yield Note(not_ready)
        return stroke.observed(StrokeEnd.NOT_READY, not_ready, commanded_by)
    yield Note(f"waiting for {commanded_by}")
    if not (yield from stroke.watch_until_left(BEGINS_WITHIN_S)):
        words = f"nothing moved in {BEGINS_WITHIN_S:g} s"
        return stroke.observed(StrokeEnd.NO_MOTION, words, commanded_by)
    home = yield from stroke.watch_until_home(timeout_s)
    if not home:
        words = f"end of travel not reached in {timeout_s:g} s"
        return stroke.observed(StrokeEnd.TIMED_OUT, words, commanded_by)
    yield from stroke.watch_for(2.0)
    return stroke.observed(StrokeEnd.HOME, "", commanded_by)

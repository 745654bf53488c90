"""
M3, M4: people step or ramp the input with a calibrator; the program watches input and travel and sends nothing.

Hands-free: the steps are found in what the unit shows of its own input. Only the end is said by a person.
"""

from collections.abc import Mapping

from commission.analysis.decision import Limits
from commission.analysis.followed import FollowEnd, InputFollowed
from commission.procedures.requests import Answer, Ask, Begin, Note, Procedure, SafeEnd, Watch
from commission.procedures.watch_arguments import minutes_s, upper_limits
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Readings

WATCHED = ("travel", "command_current")
MORE = ("motor_running", "system_pressure", "cylinder_pressure")
GAP_S = 60.0
DONE = "done"
"""Id of the question that stays open meanwhile."""

FIRST_S = 3.0
"""Seen at rest before anything is asked: a step without readings before it tells nothing."""

LIMITS = {
    "most_dead_band_pct": ("dead_band", -2),
    "most_resolution_pct": ("resolution", -2),
    "most_hysteresis_pct": ("hysteresis", -2),
    "most_overshoot_pct": ("overshoot", -2),
    "most_t86_s": ("t86", 0),
    "most_settling_s": ("settling_time", 0),
}
"""What a checklist may limit: the figure, of each step where there are several, and the places the point moves."""

FINE = frozenset({"dead_band", "resolution"})
"""Told by steps that the valve need not answer one by one."""


def follow_s(arguments: Mapping[str, str]) -> float:
    """
    How long it may take at most, in seconds.

    Raises:
        ValueError: `minutes` is not a number above zero.
    """
    return minutes_s(arguments, "how long it may take")


def follow_limits(arguments: Mapping[str, str]) -> tuple[tuple[str, Limits], ...]:
    """
    What is judged: figures by the beginning of their names, with the limit.

    Raises:
        ValueError: no limit is given, or one is no number.
    """
    return upper_limits(arguments, LIMITS)


def follow_input(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[InputFollowed]:
    """
    Watch what the valve makes of its input.

    Args:
        sheet: The unit's sheet.

        arguments: `asked`, what people are to do; `minutes`, at most; a limit, see `LIMITS`, with `origin`; `test`.

    Returns:
        All that was seen.

    Raises:
        ValueError: there is no time or no limit, or the unit does not show its input and travel.
    """
    for role in WATCHED:
        if not sheet.has(role):
            raise ValueError(f"following the input needs a point for {role}; this unit has none")
    follow_limits(arguments)
    test, longest_s = arguments.get("test", "follow"), follow_s(arguments)
    roles = (*WATCHED, *(role for role in MORE if sheet.has(role)))
    yield Begin(test, (), SafeEnd.SEND_NOTHING, None, {}, roles, longest_s, GAP_S)
    asked = arguments.get("asked", "Step the input")
    seen: list[Readings | Silence] = []
    begun_ns: int | None = None
    told = False
    while True:
        rested = begun_ns is not None and seen[-1].at_ns - begun_ns >= FIRST_S * 1e9
        if rested and not told:
            yield Note(f"asked: {asked}", loud=True)
            told = True
        item = yield Watch(asking=Ask(DONE, f"{asked}. Type done when the last has settled") if rested else None)
        if isinstance(item, Answer):
            return InputFollowed(test=test, seen=tuple(seen), ended=FollowEnd.DONE)
        if not isinstance(item, Readings | Silence):
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        seen.append(item)
        begun_ns = item.at_ns if begun_ns is None else begun_ns
        if item.at_ns - begun_ns > longest_s * 1e9:
            words = f"nobody said in {longest_s / 60:g} min that it is done"
            yield Note(words)
            return InputFollowed(test=test, seen=tuple(seen), ended=FollowEnd.TOO_LONG, why=words)

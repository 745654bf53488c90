"""
G9, M5: leave the valve where it is and watch: nothing is commanded, and who stands by says once what they see.

The stop key ends it earlier; then it is no test of that time.
"""

from collections.abc import Mapping

from commission.analysis.decision import Limits
from commission.analysis.hold_watch import HoldEnd, HoldObserved
from commission.procedures.requests import Answer, Ask, Begin, Note, Procedure, SafeEnd, Watch
from commission.procedures.watch_arguments import minutes_s, upper_limits
from commission.sample import Silence
from commission.sheet import Sheet
from commission.sheet.decode import Readings

WATCHED = (
    "travel", "open_limit", "closed_limit", "cylinder_pressure", "system_pressure", "oil_temperature", "motor_running",
    "starts_total", "command_current", "supply_voltage",
)  # fmt: skip

LEFT_BY = 0.05
"""Travel further than this from where it stood is a movement, not a drift."""

GAP_S = 60.0
"""Nothing was commanded from here: a longer silence than in a motion loses nothing."""

MEANWHILE = "meanwhile"
"""Id of the question that stays open until somebody has said what they see."""

FIRST_S = 30.0
"""So long is watched before it is asked."""


def hold_s(arguments: Mapping[str, str]) -> float:
    """
    How long it is to be watched, in seconds.

    Raises:
        ValueError: `minutes` is not a number above zero.
    """
    return minutes_s(arguments, "how long to watch")


def hold_limits(arguments: Mapping[str, str]) -> tuple[tuple[str, Limits], ...]:
    """
    What is judged, by the figure's name: `most_restarts`, `most_turns`, `most_change_pct` (of travel).

    Raises:
        ValueError: none of them is given, or one is no number.
    """
    return upper_limits(arguments, _LIMITS)


_LIMITS = {
    "most_restarts": ("restarts_count", 0),
    "most_turns": ("turns_count", 0),
    "most_change_pct": ("travel_change_held", -2),
}


def hold(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[HoldObserved]:
    """
    Watch a valve that should stand still.

    Args:
        sheet: The unit's sheet.

        arguments: `minutes`; a limit, see `hold_limits`, with `origin`; `test`, which names the run.

    Returns:
        All that was seen.

    Raises:
        ValueError: there is no time or no limit, or the unit shows no travel.
    """
    if not sheet.has("travel"):
        raise ValueError("watching a valve hold needs a point for travel; this unit has none")
    hold_limits(arguments)
    test, wanted_s = arguments.get("test", "hold"), hold_s(arguments)
    roles = tuple(role for role in WATCHED if sheet.has(role))
    yield Begin(test, (), SafeEnd.SEND_NOTHING, None, {}, roles, wanted_s + 60, GAP_S, only_waits=True)
    seen: list[Readings | Silence] = []
    question = Ask(
        MEANWHILE, f"Left to itself for {wanted_s / 60:g} min: leaks, noise, the motor; what you see or hear"
    )
    said = False
    stood: float | None = None
    while True:
        may_ask = not said and bool(seen) and seen[-1].at_ns - seen[0].at_ns >= FIRST_S * 1e9
        item = yield Watch(asking=question if may_ask else None)
        if isinstance(item, Answer):
            said = True
            continue
        if not isinstance(item, Readings | Silence):
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        seen.append(item)
        travel = item.value("travel") if isinstance(item, Readings) else None
        stood = travel if stood is None else stood
        if travel is not None and stood is not None and abs(travel - stood) > LEFT_BY:
            words = f"travel {travel * 100:.1f} %, and it stood at {stood * 100:.1f} %"
            yield Note(f"it moves: {words}", loud=True)
            return HoldObserved(test=test, seen=tuple(seen), ended=HoldEnd.MOVED, why=words)
        if item.at_ns - seen[0].at_ns >= wanted_s * 1e9:
            return HoldObserved(test=test, seen=tuple(seen), ended=HoldEnd.DONE)

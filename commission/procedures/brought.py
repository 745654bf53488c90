"""
Before a fail-safe stroke: people bring the valve to the end that it will leave, from the panel or the control room.

Nothing is commanded from here and nothing is timed; it ends when the valve is seen to stand there.
"""

from collections.abc import Mapping

import msgspec

from commission.procedures.fail_safe_plan import PEOPLE_S, away_from, safe_end_of
from commission.procedures.full_stroke import travel_timeout_s, watched_roles
from commission.procedures.onlooker import CANNOT, GAP_S, Onlooker
from commission.procedures.requests import Ask, Begin, Note, Procedure, SafeEnd
from commission.procedures.settling import STILL_TRAVEL
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings

STANDS_S = 2.0
"""It stands there once its limit has been made, and travel still, for so long (common practice, no source)."""


class Brought(msgspec.Struct, frozen=True):
    """Where people brought the valve, or why they did not."""

    end: End
    there: bool
    words: str
    commanded_by: str = "people at panel or control room"


def brought(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[Brought]:
    """
    Wait until people have brought the valve to an end.

    Args:
        sheet: The unit's sheet.

        arguments: `end`: open, closed, or `safe` or `away` for the end that an ESD drives to and the other; `test`
            names the run.

    Returns:
        Where it stands.

    Raises:
        ValueError: the end is none of these, or the sheet names no safe one.
    """
    end = end_of(sheet, arguments)
    seen = Onlooker()
    longest_s = travel_timeout_s(sheet, end) + PEOPLE_S
    yield Begin(
        test=arguments.get("test", "brought"),
        commands=(),
        safe_end=SafeEnd.SEND_NOTHING,
        safe_command=None,
        guards={},
        roles=watched_roles(sheet, ("remote",)),
        longest_s=longest_s,
        gap_s=GAP_S,
    )
    question = Ask(
        "bring", f"Have the valve brought {end.value}. This goes on when it stands there. (Or: cannot, and why)"
    )
    yield Note(f"WAITING: {question.text}", loud=True)
    asking: Ask | None = question
    yield from seen.look(asking)
    begun_ns = seen.at_ns
    while not _stands(seen, end):
        if not (yield from seen.look(asking)):
            said = "" if seen.answer is None else seen.answer.text
            if said.lower().startswith(CANNOT):
                return Brought(end, there=False, words=said)
            asking = None
        if seen.at_ns - begun_ns > longest_s * 1e9:
            return Brought(end, there=False, words=f"not {end.value} in {longest_s:g} s")
    return Brought(end, there=True, words=f"brought {end.value} by people, seen by its limit")


def end_of(sheet: Sheet, arguments: Mapping[str, str]) -> End:
    """
    The end that is meant.

    Raises:
        ValueError: it is none, or the sheet names no safe one.
    """
    named = arguments.get("end", "away")
    if named in ("safe", "away"):
        safe = safe_end_of(sheet)
        return safe if named == "safe" else away_from(safe)
    return End(named)


def _stands(seen: Onlooker, end: End) -> bool:
    if not seen.bit(f"{end.value}_limit"):
        return False
    recent = [item for item in seen.items if seen.at_ns - item.at_ns <= STANDS_S * 1e9]
    readings = [item for item in recent if isinstance(item, Readings)]
    if len(readings) < len(recent) or seen.at_ns - recent[0].at_ns < 0.8 * STANDS_S * 1e9:
        return False
    if not all(item.bit(f"{end.value}_limit") for item in readings):
        return False
    travels = [travel for item in readings if (travel := item.value("travel")) is not None]
    return not travels or max(travels) - min(travels) <= STILL_TRAVEL

"""
A loop as the control room reads it: a value with its unit, held against the current that the meter read at the time.

What they show is what they act on. A range of theirs that is turned round or begins at 0 mA agrees at one point and at
no other; so each of the usual mistakes is tried at the point where it shows, and named in words.
"""

import re

import msgspec

from commission.sheet.model import Loop

_VALUE = re.compile(r"\s*(?P<value>-?\d+(?:[.,](?P<places>\d+))?)\s*(?P<unit>%|mA)\s*")

FROZEN_PCT = 5.0
"""Two points at least this far apart do not read alike (common practice, no source)."""


class RoomValue(msgspec.Struct, frozen=True):
    """
    What was read aloud.

    Args:
        value: In `unit`.

        unit: `%` of travel, or `mA`.

        step: One step of the last place that was read.
    """

    value: float
    unit: str
    step: float


class LoopPoint(msgspec.Struct, frozen=True):
    """What they read, and the loop's current then, in amperes."""

    room: RoomValue
    current_a: float


def room_value(text: str) -> RoomValue | None:
    """A value with its unit, as `24.9 %` or `7,98 mA`; None where the text is no such value."""
    match = _VALUE.fullmatch(text)
    if match is None:
        return None
    return RoomValue(float(match["value"].replace(",", ".")), match["unit"], 10.0 ** -len(match["places"] or ""))


def what_differs(loop: Loop, now: LoopPoint, before: LoopPoint | None, unsure: float) -> str:
    """
    What is not as it should be in the control room, and what it points to; empty where it agrees.

    Agreement is within the loop's own limit, half of the last place that was read, and the meter's uncertainty.

    Args:
        loop: The loop as the sheet has it.

        now: This point.

        before: The point before it; None at the first.

        unsure: Expanded uncertainty of the meter's current, as a fraction of span.
    """
    room = now.room
    carried = _percent(loop, now.current_a * 1e3)
    share = abs(100.0 / (loop.open_ma - loop.closed_ma)) if room.unit == "mA" else 1.0
    read = _percent(loop, room.value) if room.unit == "mA" else room.value
    permitted = loop.limit_pct + room.step / 2 * share + unsure * 100
    if abs(read - carried) <= permitted:
        return ""
    shown = (
        f"the loop carries {now.current_a * 1e3:.2f} mA, which is {carried:.1f} %; they read {room.value:g} {room.unit}"
    )
    return f"{shown}: {_cause(loop, now, before, read, permitted)}"


def _cause(loop: Loop, now: LoopPoint, before: LoopPoint | None, read: float, permitted: float) -> str:
    """The usual mistake that fits; where none does, where to look."""
    carried, largest = _percent(loop, now.current_a * 1e3), max(loop.open_ma, loop.closed_ma)
    if before is not None and before.room == now.room and _apart(loop, now, before) >= FROZEN_PCT:
        return "the same as at the point before: another tag, or a value that stands still"
    if abs(read - (100 - carried)) <= permitted:
        return "their range is turned round"
    if now.room.unit == "%" and abs(read - now.current_a * 1e3 / largest * 100) <= permitted:
        return f"their input is ranged 0 to {largest:g} mA"
    return "look at their range, at an isolator or resistor between, and at the tag"


def _apart(loop: Loop, one: LoopPoint, other: LoopPoint) -> float:
    return abs(_percent(loop, one.current_a * 1e3) - _percent(loop, other.current_a * 1e3))


def _percent(loop: Loop, current_ma: float) -> float:
    return (current_ma - loop.closed_ma) / (loop.open_ma - loop.closed_ma) * 100

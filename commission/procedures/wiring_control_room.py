"""
I4: point-to-point with the control room. Each contact is operated; the controller reads aloud what they see, and when.

The unit's side is seen hands-free, as in I2. Then what the controller reads is typed as it is heard, with the time of
their event log; both times are compared through the clock offset that was taken by voice. A wrong tag, the opposite
sense, or the same words both ways is the finding; so is a time that does not agree, for it is another event.
"""

import re
from collections.abc import Generator, Mapping
from datetime import UTC, datetime, timedelta

import msgspec

from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.analysis.wiring_contacts import Operation, judge, operations
from commission.procedures.requests import Answer, Ask, Note, Procedure, Reply, Request
from commission.procedures.wiring_contacts import Board, looking
from commission.sheet import ROLES, RoleKind, Sheet

POINT_TO_POINT = "point_to_point"
"""Its name in the catalogue."""

CLOCK = "utc_at_0"
OFFSET = "offset_s"
"""Arguments that the walk adds: UTC where unit time is 0, and laptop minus control room in seconds."""

EARLY_S = 2.0
"""Their log and the offset are each good to a second: no event of ours is in their log earlier than this."""

LATE_S = 5.0
"""The control room's own poll may be so late (common practice, no source)."""

_TIME = re.compile(r"(?P<text>.*?)[\s;,]*\b(?P<time>[0-2]\d:[0-5]\d:[0-5]\d)\s*", re.DOTALL)
_WRONG = "wrong"


def point_to_point(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[WiringSeen]:
    """
    Every contact that the control room sees, there and back.

    Args:
        sheet: The unit's sheet.

        arguments: `test` names the run; `signals` lists roles, all that a hand can operate where it is left out;
            `utc_at_0` and `offset_s` map unit time to the control room's clock, and where they are missing times are
            kept and not compared.

    Returns:
        What was seen of each at the unit, who read what in the control room, and both times.

    Raises:
        ValueError: the unit has no such contact, or the clock is no time.
    """
    only = frozenset(arguments["signals"].split()) if "signals" in arguments else None
    if not operations(sheet, only):
        raise ValueError("the sheet has no contact that a hand can operate in control")
    clocks = Clocks.of(arguments)
    yield looking(sheet, arguments["test"])
    board = Board(sheet)
    yield Note("Nobody touches anything: everything is watched for two seconds", loud=True)
    yield from board.see_rest()
    points: list[PointSeen] = []
    wanted = operations(sheet, only, board.rest)
    for operation in wanted:
        point = judge(sheet, operation, (yield from board.operated(operation)))
        yield Note(f"{'SEEN' if point.is_right else 'NOT SO'}  at the unit: {point.seen}. Controller?", loud=True)
        before = points[-1].read_back if operation.back and points else ""
        points.append((yield from _read_back(operation, point, clocks, before)))
        if operation.back:
            yield from board.until_rest()
    return WiringSeen(points=tuple(points), not_forced=_numbers(sheet))


class Clocks(msgspec.Struct, frozen=True):
    """How unit time maps to the control room's clock; None where nobody has compared them."""

    utc_at_0: datetime | None = None
    offset_s: float | None = None

    @classmethod
    def of(cls, arguments: Mapping[str, str]) -> "Clocks":
        """From the run's arguments; raises ValueError where they are no time or number."""
        at_0, offset = arguments.get(CLOCK), arguments.get(OFFSET)
        return cls(datetime.fromisoformat(at_0) if at_0 else None, float(offset) if offset else None)

    def utc(self, at_ns: int) -> datetime | None:
        """The laptop's UTC at a moment of unit time."""
        return None if self.utc_at_0 is None or not at_ns else self.utc_at_0 + timedelta(microseconds=at_ns / 1000)

    def late_s(self, at_ns: int, their_time: str) -> float | None:
        """How much later than ours their time is, in seconds; whole half hours between the two are a time zone."""
        ours = self.utc(at_ns)
        if ours is None or self.offset_s is None:
            return None
        said = datetime.strptime(their_time, "%H:%M:%S").replace(tzinfo=UTC)
        said = said.replace(year=ours.year, month=ours.month, day=ours.day)
        half_hour = timedelta(minutes=30)
        late = (said - (ours - timedelta(seconds=self.offset_s)) + half_hour / 2) % half_hour - half_hour / 2
        return round(late.total_seconds(), 1)


def _read_back(
    operation: Operation, point: PointSeen, clocks: Clocks, before: str
) -> Generator[Request, Reply, PointSeen]:
    """Ask what the controller reads until it has a time in it; what the unit did wrong stays the first finding."""
    asked = (
        f"{operation.do}: the controller reads aloud text and time, as: NOT AVAILABLE 14:02:11. "
        f"Begin with wrong, where it is another tag or the opposite"
    )
    again = ""
    while True:
        said = yield Ask(f"{operation.id} controller", f"{again}{asked}")
        if not isinstance(said, Answer):
            return point
        match = _TIME.fullmatch(said.text.strip())
        if match is not None and match["text"]:
            return _heard(point, said, match["text"], match["time"], clocks, before)
        if said.text.strip().lower().startswith(_WRONG):
            return _heard(point, said, said.text.strip(), "", clocks, before)
        again = "With the time of their event log. "


def _heard(point: PointSeen, said: Answer, text: str, their_time: str, clocks: Clocks, before: str) -> PointSeen:
    ours = clocks.utc(point.at_ns)
    at = "" if ours is None else f", {ours:%H:%M:%S} UTC"
    heard = msgspec.structs.replace(
        point, seen=f"{point.seen}{at}", seen_by=said.by, read_back=text, their_time=their_time
    )
    if not point.is_right:
        return heard
    finding, words = _their_side(point, text, their_time, clocks, before)
    return msgspec.structs.replace(heard, finding=finding, words=words)


def _their_side(point: PointSeen, text: str, their_time: str, clocks: Clocks, before: str) -> tuple[Finding, str]:
    if text.lower().startswith(_WRONG):
        words = (
            f"The controller read: {text}. The unit showed it right, so look at the core to the control room, at its "
            "tag and at which state is alarm there; nobody relies on it meanwhile."
        )
        return Finding.WRONG_TEXT, words
    if before and text.lower() == before.lower():
        words = "The controller read the same words both ways: no signal reaches them, or only one state has a text."
        return Finding.WRONG_TEXT, words
    late_s = clocks.late_s(point.at_ns, their_time)
    if late_s is not None and not -EARLY_S <= late_s <= LATE_S:
        way = "later" if late_s > 0 else "earlier"
        words = (
            f"Their time is {abs(late_s):g} s {way} than ours, clock offset taken out: was it this event? Compare the "
            "clocks again, and operate it again."
        )
        return Finding.LATE, words
    return Finding.RIGHT, ""


def _numbers(sheet: Sheet) -> tuple[str, ...]:
    """Analogue signals are proved at points up and down, where they have a sense."""
    named = ("feedback_current", "command_current")
    return tuple(
        f"{ROLES[role].label}: at points up and down (M1, M2)"
        for role in named
        if sheet.has(role) and ROLES[role].kind is RoleKind.NUMBER
    )

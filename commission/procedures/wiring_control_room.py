"""
I4: point-to-point with the control room. Each contact is operated; the controller reads aloud what they see, and when.

The unit's side is seen hands-free, as in I2. Then what the controller reads is typed as it is heard, with the time of
their event log; both times are compared through the clock offset that was taken by voice. A wrong tag, the opposite
sense, or the same words both ways is the finding; so is a time that does not agree, for it is another event.
"""

import re
from collections.abc import Callable, Generator, Mapping
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

    def off_words(self, at_ns: int, their_time: str, around_ns: int = 0) -> str:
        """
        How far their time is from ours, as `12 s later`; empty where it agrees or cannot be compared.

        Args:
            at_ns: Ours, in unit time.

            their_time: As HH:MM:SS.

            around_ns: Half-width of ours.
        """
        late_s = self.late_s(at_ns, their_time) if their_time else None
        if late_s is None or -EARLY_S - around_ns / 1e9 <= late_s <= LATE_S + around_ns / 1e9:
            return ""
        return f"{abs(late_s):g} s {'later' if late_s > 0 else 'earlier'}"


def _read_back(
    operation: Operation, point: PointSeen, clocks: Clocks, before: str
) -> Generator[Request, Reply, PointSeen]:
    """What the controller reads; what the unit did wrong stays the first finding."""
    asked = (
        f"{operation.do}: the controller reads aloud text and time, as: NOT AVAILABLE 14:02:11. "
        f"Begin with wrong, where it is another tag or the opposite"
    )
    heard = yield from read_aloud(f"{operation.id} controller", asked)
    return point if heard is None else _heard(point, heard, clocks, before)


class ReadAloud(msgspec.Struct, frozen=True):
    """
    What somebody in the control room read.

    Args:
        said: The answer as it was typed.

        text: Without its time.

        time: Of their event log, as HH:MM:SS; empty where something is wrong and no time was given.
    """

    said: Answer
    text: str
    time: str

    @property
    def is_wrong(self) -> bool:
        """Whether it is said to be another tag, or the opposite."""
        return self.text.lower().startswith(_WRONG)


def read_aloud(
    name: str, asked: str, lacks: Callable[[str], str] = lambda _text: ""
) -> Generator[Request, Reply, ReadAloud | None]:
    """
    Ask what the controller reads until it has a time in it.

    Args:
        name: Id of the question.

        asked: The question.

        lacks: What else is missing from the text, said before the question is asked again; empty where nothing is.
    """
    again = ""
    while True:
        said = yield Ask(name, f"{again}{asked}")
        if not isinstance(said, Answer):
            return None
        typed = said.text.strip()
        match = _TIME.fullmatch(typed)
        heard = ReadAloud(said, typed, "") if match is None else ReadAloud(said, match["text"], match["time"])
        if heard.is_wrong:
            return heard
        again = "" if heard.time and heard.text else "With the time of their event log. "
        again = again or lacks(heard.text)
        if not again:
            return heard


def _heard(point: PointSeen, heard: ReadAloud, clocks: Clocks, before: str) -> PointSeen:
    seen = with_reading(point, heard, clocks)
    if not point.is_right:
        return seen
    finding, words = _their_side(point, heard, clocks, before)
    return msgspec.structs.replace(seen, finding=finding, words=words)


def with_reading(point: PointSeen, heard: ReadAloud, clocks: Clocks) -> PointSeen:
    """A point with who read what of it, and both times."""
    ours = clocks.utc(point.at_ns)
    at = "" if ours is None else f", {ours:%H:%M:%S} UTC"
    return msgspec.structs.replace(
        point, seen=f"{point.seen}{at}", seen_by=heard.said.by, read_back=heard.text, their_time=heard.time
    )


def _their_side(point: PointSeen, heard: ReadAloud, clocks: Clocks, before: str) -> tuple[Finding, str]:
    text = heard.text
    if heard.is_wrong:
        words = (
            f"The controller read: {text}. The unit showed it right, so look at the core to the control room, at its "
            "tag and at which state is alarm there; nobody relies on it meanwhile."
        )
        return Finding.WRONG_TEXT, words
    if before and text.lower() == before.lower():
        words = "The controller read the same words both ways: no signal reaches them, or only one state has a text."
        return Finding.WRONG_TEXT, words
    late = clocks.off_words(point.at_ns, heard.time)
    if late:
        words = f"Their time is {late} than ours, clock offset taken out: was it this event?"
        return Finding.LATE, f"{words} Compare the clocks again, and operate it again."
    return Finding.RIGHT, ""


def _numbers(sheet: Sheet) -> tuple[str, ...]:
    """Analogue signals are proved at points up and down, where they have a sense."""
    named = ("feedback_current", "command_current")
    return tuple(
        f"{ROLES[role].label}: at points up and down (M1, M2)"
        for role in named
        if sheet.has(role) and ROLES[role].kind is RoleKind.NUMBER
    )

"""
What a wiring proof says of one point: what was forced, what was seen, in words with what to do, and what would put the
sheet right.

A proposed line for the sheet is a proposal: a person accepts it by correcting the sheet; nothing is ever changed by
itself.
"""

from enum import StrEnum

import msgspec

from commission.sheet import Point, Sheet
from commission.sheet.roles import ROLES


class Finding(StrEnum):
    """What came of forcing or comparing one point."""

    RIGHT = "as it should be"
    WRONG_POINT = "another point changed"
    INVERTED = "wrong sense"
    TOGETHER = "two points changed together"
    NOT_FOLLOWED = "something did not follow"
    BOUNCED = "the contact bounces"
    NONE = "nothing changed"
    NOT_FORCED = "not forced"
    WRONG_MAP = "the sheet reads it wrongly"
    DIFFERS = "differs from the reference"
    PROVES_NOTHING = "proves nothing"
    WRONG_TEXT = "the control room saw something else"
    LATE = "the control room's time does not agree"
    LET_GO = "it did not hold"
    MOVED = "it moved"


class PointSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    One point as a wiring proof saw it.

    Args:
        role: Its role; empty for what concerns the whole map.

        forced: What was done to it, or what it was compared with.

        seen: What the program saw.

        finding: What that comes to.

        words: The finding in a sentence, with what to do about it.

        correction: Lines that would put the sheet right; empty where the sheet is right or nobody can say.

        at_ns: Unit time at which it was seen, 0 where it was not.

        half_width_ns: Half-width of that moment.

        seen_by: Who saw it in the control room.

        read_back: What they read aloud.

        their_time: Their clock, as HH:MM:SS.

        again: Whether it was forced again after this; only the last time counts.
    """

    role: str
    forced: str
    seen: str
    finding: Finding
    words: str = ""
    correction: tuple[str, ...] = ()
    at_ns: int = 0
    half_width_ns: int = 0
    seen_by: str = ""
    read_back: str = ""
    their_time: str = ""
    again: bool = False

    @property
    def is_right(self) -> bool:
        """Whether it stands in no one's way."""
        return self.finding is Finding.RIGHT


class WiringSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a wiring proof observed.

    Args:
        points: Point by point, in the order they were forced.

        not_forced: Points of the sheet that this test does not force, each with where it is proved.
    """

    points: tuple[PointSeen, ...]
    not_forced: tuple[str, ...] = ()

    @property
    def standing(self) -> tuple[PointSeen, ...]:
        """The points without those that were forced again."""
        return tuple(point for point in self.points if not point.again)

    @property
    def proved(self) -> bool:
        """Whether everything that was forced came as it should."""
        return bool(self.standing) and all(point.is_right for point in self.standing)

    @property
    def words(self) -> str:
        """In words: what is wrong first, each with what to do; else how many points were proved."""
        wrong = [
            f"{point.forced}: {point.finding}. {point.words}".strip() for point in self.standing if not point.is_right
        ]
        lines = [line for point in self.standing for line in point.correction]
        if lines:
            wrong.append(f"Lines that would put the sheet right: {'; '.join(dict.fromkeys(lines))}")
        if wrong:
            return " | ".join(wrong)
        repeated = sum(point.again for point in self.points)
        after = f", {repeated} only when forced again" if repeated else ""
        return f"{len(self.standing)} of {len(self.standing)} as they should be{after}"


def word_of(role: str, *, true: bool) -> str:
    """The trade's word for a state of a bit, with what it is the state of, as `fluid low`."""
    meaning = ROLES[role]
    return f"{meaning.label} {meaning.true_word if true else meaning.false_word}"


def name_of_role(role: str) -> str:
    """What people call a point."""
    return ROLES[role].label


def place_words(point: Point) -> str:
    """Where a point lies, as its own list counts: `discrete 5`, `input 26 bit 3`."""
    bit = "" if point.bit is None else f" bit {point.bit}"
    return f"{point.table} {point.address}{bit}"


def line_for(sheet: Sheet, role: str, field: str, value: object) -> str:
    """A line for the sheet, with what it says now: `low_fluid: address = 7 (the sheet says 5)`."""
    point = sheet.point(role)
    now = getattr(point, field, None)
    shown = f'"{value}"' if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else str(value)
    says = sheet.link.order if field == "order" and now is None else now
    return f"{role}: {field} = {shown} (the sheet says {says})"

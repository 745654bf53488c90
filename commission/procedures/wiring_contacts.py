"""
I2: see each input change its own bit, hands-free.

It says which contact to operate and watches all of them. When something has changed and settled it says what, loud
enough to be heard at the valve, and goes on to the next (safety rule R17: nothing is commanded, no state is crossed).
Where something is not as it should be it waits for a person, who repeats it or goes on. Nobody is hurried: the only end
of a wait is a change, or somebody who says that it was operated and nothing changed.
"""

from collections import Counter
from collections.abc import Generator, Mapping

import msgspec

from commission.analysis.wiring import PointSeen, WiringSeen, word_of
from commission.analysis.wiring_contacts import Operated, Operation, judge, not_operated, operations
from commission.procedures.requests import Answer, Ask, Begin, Note, Procedure, Reply, Request, SafeEnd, Watch
from commission.sample import Silence, Table
from commission.sheet import ROLES, RoleKind, Sheet
from commission.sheet.decode import Readings

STILL_S = 2.0
"""How long everything is seen with nobody touching it before the first contact."""

STILL_READS = 20
"""And in how many readings at least: a slow line must not take a loose contact for a sound one."""

SETTLE_S = 2.5
"""What follows a contact is seen by then: the unit's scan and two seconds (common practice, no source)."""

BRIEF_S = 0.15
"""Changes that come and go in this time at the first touch are the bounce that every contact has."""

GAP_S = 30.0
"""A lead is moved, a connector is pushed home: the watch goes on through silences up to this long."""

AGAIN = ("a", "again", "r", "repeat")
"""What a person says to operate a contact once more."""


def see_contacts(sheet: Sheet, test: str, only: frozenset[str] | None = None) -> Procedure[WiringSeen]:
    """
    Every contact that a hand can operate in control, there and back.

    Args:
        sheet: The unit's sheet.

        test: Names the run.

        only: The points whose contacts are operated; all where None.

    Returns:
        What was seen of each.

    Raises:
        ValueError: the unit has no such contact.
    """
    if not operations(sheet, only):
        raise ValueError("the sheet has no contact that a hand can operate in control")
    yield looking(sheet, test)
    board = Board(sheet)
    yield Note("Nobody touches anything: everything is watched for two seconds", loud=True)
    yield from board.see_rest()
    points: list[PointSeen] = []
    wanted = operations(sheet, only, board.rest)
    for operation in wanted:
        points += yield from _operated(board, operation)
        if operation.back:
            yield from board.until_rest()
    done = frozenset(operation.role for operation in wanted)
    return WiringSeen(points=tuple(points), not_forced=not_operated(sheet, done))


def looking(sheet: Sheet, test: str, more: tuple[str, ...] = ()) -> Begin:
    """The beginning of a proof that commands nothing: every bit of the sheet, and `more`."""
    bits = tuple(
        point.role for point in sheet.points if ROLES[point.role].kind is RoleKind.BIT and not point.read_clears
    )
    return Begin(
        test=test,
        commands=(),
        safe_end=SafeEnd.SEND_NOTHING,
        safe_command=None,
        guards={},
        roles=(*bits, *more),
        longest_s=0.0,
        gap_s=GAP_S,
        neighbours=True,
        moves=False,
    )


def _operated(board: "Board", operation: Operation) -> Generator[Request, Reply, list[PointSeen]]:
    """One contact, as often as somebody wants to repeat it; every time is kept."""
    points: list[PointSeen] = []
    while True:
        point = judge(board.sheet, operation, (yield from board.operated(operation)))
        if point.is_right:
            yield Note(f"SEEN  {point.seen}", loud=True)
            return [*points, point]
        yield Note(f"NOT SO  {point.finding}. {point.words}", loud=True)
        question = f"{point.finding}. {point.words} Operate it again? (again, or: go on)"
        said = yield Ask(f"{operation.id} then", question)
        if not (isinstance(said, Answer) and said.text.strip().lower() in AGAIN):
            return [*points, point]
        points.append(msgspec.structs.replace(point, again=True))


class Board:
    """
    All contacts as they are seen now.

    Args:
        sheet: The unit's sheet.

    Attributes:
        rest: Every bit with nobody touching anything.

        resting: Those that chatter all the same.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.resting: frozenset[str] = frozenset()
        self.rest: Mapping[str, bool] = {}
        self._chatter: Counter[str] = Counter()
        self._watched_s = 0.0
        self._now: Mapping[str, bool] = {}
        self._unnamed: Mapping[str, int] = {}
        self._named = _named_places(sheet)
        self._last: Readings | None = None

    def see_rest(self) -> Generator[Request, Reply, None]:
        """See everything with nobody touching it: what changes now chatters by itself."""
        changes: Counter[str] = Counter()
        begun_ns: int | None = None
        reads = 0
        while True:
            if isinstance(item := (yield Watch()), Readings):
                begun_ns = item.at_ns if begun_ns is None else begun_ns
                changes.update(self._take(item))
                reads += 1
                if reads >= STILL_READS and item.at_ns - begun_ns >= STILL_S * 1e9:
                    break
        self._chatter, self._watched_s = changes, (item.at_ns - begun_ns) / 1e9
        self.resting = frozenset(name for name, count in changes.items() if count > 1)
        self.rest = dict(self._now)

    def operated(self, operation: Operation) -> Generator[Request, Reply, Operated]:
        """Ask for one contact, wait until something changes or somebody speaks, and see it settle."""
        before, unnamed = dict(self._now), dict(self._unnamed)
        question = Ask(operation.id, f"{operation.do}. (Type done where nothing is seen; or: cannot, and why)")
        yield Note(f"NEXT  {operation.do}", loud=True)
        changes: Counter[str] = Counter()
        while True:
            item = yield Watch(question)
            if isinstance(item, Answer):
                if item.text.strip().lower().startswith("cannot"):
                    return Operated(before=before, after=before, changes={}, not_done=_reason(item.text))
                break
            if isinstance(item, Readings):
                changes.update(self._take(item))
                if self._differs(before, unnamed):
                    break
        return (yield from self._settled(operation, before, unnamed, changes))

    def until_rest(self) -> Generator[Request, Reply, None]:
        """Everything is back where it was with nobody touching it, or somebody says that it stays as it is."""
        asked = ""
        while away := [
            name for name in self.rest if name not in self.resting and self._now[name] is not self.rest[name]
        ]:
            names = ", ".join(word_of(name, true=self._now[name]) for name in away)
            if names != asked:
                asked = names
                yield Note(f"NEXT  Press RESET at the unit. Still: {names}", loud=True)
            item = yield Watch(Ask("reset", f"Press RESET at the unit. Still: {names}. (Type leave to go on as it is)"))
            if isinstance(item, Answer):
                self.rest = dict(self._now)
            elif isinstance(item, Readings):
                self._take(item)

    def _settled(
        self, operation: Operation, before: Mapping[str, bool], unnamed: Mapping[str, int], changes: Counter[str]
    ) -> Generator[Request, Reply, Operated]:
        first = self._last
        begun_ns = at_ns = 0 if first is None else first.at_ns
        brief: Counter[str] = Counter()
        while at_ns - begun_ns < SETTLE_S * 1e9:
            item = yield Watch()
            if isinstance(item, Readings):
                changed = self._take(item)
                (brief if item.at_ns - begun_ns <= BRIEF_S * 1e9 else changes).update(changed)
            at_ns = item.at_ns if isinstance(item, Readings | Silence) else at_ns
        own = None if first is None else first.get(operation.role)
        differs = bool(changes or brief) and own is not None
        chatter = self._chatter if operation.role in self.resting else changes
        return Operated(
            before=before,
            after=dict(self._now),
            changes=dict(chatter),
            unnamed=tuple(place for place, value in self._unnamed.items() if unnamed.get(place, value) != value),
            resting=self.resting,
            window_s=self._watched_s if operation.role in self.resting else SETTLE_S,
            at_ns=own.at_ns if own is not None and differs else 0,
            half_width_ns=own.half_width_ns if own is not None and differs else 0,
        )

    def _differs(self, before: Mapping[str, bool], unnamed: Mapping[str, int]) -> bool:
        return any(
            name not in self.resting and before.get(name) is not value for name, value in self._now.items()
        ) or any(unnamed.get(place, value) != value for place, value in self._unnamed.items())

    def _take(self, readings: Readings) -> list[str]:
        """Take one sample; the bits that changed since the one before."""
        now = {name: reading.is_true for name, reading in readings.by_role.items() if ROLES[name].kind is RoleKind.BIT}
        changed = [name for name, value in now.items() if name in self._now and self._now[name] is not value]
        self._now = {**self._now, **now}
        self._unnamed = self._nameless(readings)
        self._last = readings
        return changed

    def _nameless(self, readings: Readings) -> Mapping[str, int]:
        """Bits that were read and that the sheet gives no meaning, by their place."""
        registers = readings.registers
        if registers is None:
            return {}
        found = {}
        for block, read in zip(registers.plan.blocks, registers.sample.reads, strict=True):
            for offset, word in enumerate(read.words):
                address = block.address + offset
                if block.table.holds_bits and (block.table, address) not in self._named:
                    found[f"{block.table} {address + self.sheet.link.counts_from}"] = word
        return found


def _named_places(sheet: Sheet) -> frozenset[tuple[Table, int]]:
    return frozenset((point.table, sheet.wire_address(point)) for point in sheet.points)


def _reason(text: str) -> str:
    return text.strip()[len("cannot") :].strip(" ,:;") or "no reason given"

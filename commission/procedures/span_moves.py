"""
How the valve comes to a point of a span test: moved on from here and stopped there, or brought there by people.

Moved from here, each move on from a point is a repeat of the same test and direction (safety rule R13): one key and an
audible countdown, never later than ten minutes after the last movement. Every move ends with a stop, or at the end.
"""

from collections.abc import Generator
from typing import Protocol

from commission.analysis.span import SpanEnd
from commission.procedures.full_stroke import travel_timeout_s
from commission.procedures.requests import Ask, Command, CommandValue, Note, Reply, Request, Sent
from commission.procedures.settling import Settling
from commission.procedures.span_plan import NEAR, Leg
from commission.sample import Outcome
from commission.sheet import End, Sheet

GO = "go"
CANCEL = "cancel"
COUNTDOWN_S = 3

REPEAT_WITHIN_S = 600.0
"""A move later than this after the last one is confirmed in full again (safety rule R13)."""

AT_REST_S = 20.0
"""People may have brought the valve to where its own travel reads something else: standing still this long at another
place than before, it is asked about all the same."""

ARRIVES_WITHIN_S = 1800.0
STARTS_WITHIN_S = 20.0
"""From the command; a pump takes a second, a slow line some more (common practice, no source)."""

MOVED = 0.005
"""More travel than this is a movement."""

Steps = Generator[Request, Reply, bool]
Found = Generator[Request, Reply, SpanEnd | None]


class Way(Protocol):
    """How the valve comes to the next point."""

    def come_to(self, leg: Leg) -> Found:
        """Come to a point; how the run ends where that is not possible, else None."""
        ...


class MovedFromHere:
    """
    Open (or close) on to each point in turn, and stop there.

    Args:
        sheet: The unit's sheet.

        away: The end that it goes towards.

        seen: What is watched.

    Raises:
        ValueError: the unit lacks a point that is needed; the message says which.
    """

    def __init__(self, sheet: Sheet, away: End, seen: Settling) -> None:
        self._sheet, self._away, self._seen = sheet, away, seen
        self._role = "command_open" if away is End.OPEN else "command_close"
        self._moved_ns: int | None = None
        for needed in (self._role, "command_stop", "travel", "open_limit", "closed_limit"):
            if not sheet.has(needed):
                raise ValueError(f"to be moved to points from here the unit needs a point for {needed}; it has none")

    @property
    def commands(self) -> tuple[CommandValue, CommandValue]:
        """The command that moves it, and the one that stops it."""
        return self._value(self._role), self._value("command_stop")

    def come_to(self, leg: Leg) -> Found:
        """Let the valve go on to a point and stop it there; it stands at the first one already."""
        yield from self._seen.see()
        target, progress = self._progress_of(leg.point_pct / 100), self._progress()
        self._moved_ns = self._moved_ns or self._seen.last_ns
        if progress is None:
            return SpanEnd.NOT_REACHED
        if target - progress <= NEAR / 2:
            return None
        if not (yield from self._go(leg)):
            return SpanEnd.TOO_LONG
        go, stop = self.commands
        sent = yield Command(go.role, go.value)
        if isinstance(sent, Sent) and sent.outcome is Outcome.REFUSED:
            yield Note(f"{go.role} refused: {sent.reason}")
            return SpanEnd.REFUSED
        begun_ns = sent.at_ns if isinstance(sent, Sent) else self._seen.last_ns
        reached = yield from self._watch_until(target, progress, begun_ns)
        if not (reached and self._at_end()):
            yield Command(stop.role, stop.value)
        self._moved_ns = self._seen.last_ns
        return None if reached else SpanEnd.NOT_REACHED

    def _go(self, leg: Leg) -> Steps:
        """The one key of a repeat, and its countdown; False where it comes too late for one."""
        while True:
            yield Ask(GO, f"Hands and tools out of the yoke? The valve goes on to {leg.words}.", "go")
            counted = yield from self._count_down()
            if self._seen.last_ns - (self._moved_ns or 0) > REPEAT_WITHIN_S * 1e9:
                return False
            if counted:
                return True
            yield Note("cancelled: the valve stays where it is", loud=True)

    def _count_down(self) -> Steps:
        """Three seconds, each said aloud; False where any key was pressed meanwhile."""
        cancel = Ask(CANCEL, "The valve is about to move. Any key cancels.", "key")
        for second in range(COUNTDOWN_S, 0, -1):
            yield Note(f"moves in {second} s", loud=True)
            begun_ns = self._seen.last_ns
            while self._seen.last_ns - begun_ns < 1e9:
                if not (yield from self._seen.watch_asking(cancel)):
                    return False
        return True

    def _watch_until(self, target: float, start: float, begun_ns: int) -> Steps:
        """Watch until the valve is at the target or made its end; False where it does not start or not arrive."""
        farthest = start
        timeout_s = travel_timeout_s(self._sheet, self._away)
        while True:
            at_ns = yield from self._seen.watch()
            now = self._progress()
            farthest = farthest if now is None else max(farthest, now)
            if self._at_end() or (farthest >= target and target < 1):
                return True
            late_s = STARTS_WITHIN_S if farthest - start < MOVED else timeout_s
            if at_ns - begun_ns > late_s * 1e9:
                return False

    def _progress(self) -> float | None:
        travel = self._seen.value("travel")
        return None if travel is None else self._progress_of(travel)

    def _progress_of(self, travel: float) -> float:
        return travel if self._away is End.OPEN else 1 - travel

    def _at_end(self) -> bool:
        return self._seen.bit(f"{self._away.value}_limit")

    def _value(self, role: str) -> CommandValue:
        point = self._sheet.point(role)
        return CommandValue(role, 1 if point is None else point.value)


class BroughtByPeople:
    """
    Wait, hands-free, until people have brought the valve to a point and it stands still there; nothing is sent.

    Args:
        seen: What is watched.
    """

    def __init__(self, seen: Settling) -> None:
        self._seen = seen
        self._stood: float | None = None

    def come_to(self, leg: Leg) -> Found:
        """Wait for the valve at a point."""
        begun_ns = still_ns = self._seen.last_ns
        while True:
            at_ns = yield from self._seen.watch()
            travel = self._seen.value("travel")
            if not self._seen.settled:
                still_ns = at_ns
            elif travel is None or abs(travel - leg.point_pct / 100) <= NEAR:
                self._stood = travel
                return None
            elif at_ns - still_ns > AT_REST_S * 1e9 and self._is_elsewhere(travel):
                self._stood = travel
                yield Note(f"it stands still where its own travel reads {travel * 100:.1f} %")
                return None
            if at_ns - begun_ns > ARRIVES_WITHIN_S * 1e9:
                return SpanEnd.NOT_REACHED

    def _is_elsewhere(self, travel: float) -> bool:
        return self._stood is None or abs(travel - self._stood) > NEAR

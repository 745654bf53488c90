"""
What people did at panel and control room, act by act, and what the valve made of each: J2, J3 and J4.

Each act says beforehand what should follow: the valve opens and stops, closes and stops, goes to its safe end, or
stays. Travel decides; where somebody looks at the stem, the stem has to go the same way as the command.
"""

from enum import StrEnum

import msgspec

from commission.sheet import End

MOVED = 0.005
"""Travel changed by more than half a percent has moved (common practice, no source)."""

STILL = 0.003
"""Noise of a position sensor in good order is within 0.2 % (trade guide H3)."""


class Follows(StrEnum):
    """What should follow an act."""

    OPENS = "opens, and stops on the way"
    CLOSES = "closes, and stops on the way"
    SAFE = "goes to its safe end"
    STAYS = "stays where it is"


class Act(msgspec.Struct, frozen=True, kw_only=True):
    """
    One act that is asked for.

    Args:
        id: Names it in the record.

        words: What people are asked to do.

        follows: What should follow.

        answers: What may be said of it, the first is what is wanted; empty where any words will do.

        stem: Whether somebody at the stem says which way it went.

        remote: What the selector's bit has to show afterwards; None where it does not matter.
    """

    id: str
    words: str
    follows: Follows
    answers: tuple[str, ...] = ()
    stem: bool = False
    remote: bool | None = None


class ActSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was seen of one act.

    Args:
        act: Which.

        said: The answer.

        before: Travel before it, as a fraction; None where travel is not read.

        after: Travel when it stood again.

        still: Whether it stood still at the end of the watch.

        at: The end whose limit was made then; None between the ends.

        safe: The end that an ESD drives to.

        stem: Which way the stem went, as somebody saw it: open, closed or still; empty where nobody was asked.

        remote: What the selector's bit showed; None where it is not read.
    """

    act: Act
    said: str
    before: float | None
    after: float | None
    still: bool
    at: End | None
    safe: End
    stem: str = ""
    remote: bool | None = None

    @property
    def moved(self) -> float | None:
        """How far, open counted above zero; None where travel is not read."""
        return None if self.before is None or self.after is None else self.after - self.before

    @property
    def wrong(self) -> str:
        """What is wrong, in words; empty where all is as it should be."""
        return self._said_wrong() or self._moved_wrong() or self._stem_wrong() or self._bit_wrong()

    @property
    def words(self) -> str:
        """What was seen, in one sentence."""
        way = "travel not read" if self.moved is None else f"travel {self.moved * 100:+.1f} %"
        said = f", {self.said}" if self.act.answers else ""
        return f"{self.act.id}: {self.wrong or f'{self.act.follows}{said} ({way})'}"

    def _said_wrong(self) -> str:
        if self.act.answers and self.said != self.act.answers[0]:
            return f"{self.said}, where {self.act.answers[0]} was expected"
        return ""

    def _moved_wrong(self) -> str:
        if not self.still:
            return "the valve did not stop"
        follows, moved = self.act.follows, self.moved
        if follows is Follows.SAFE:
            return "" if self.at is self.safe else f"the valve did not go to its {self.safe.value} end"
        if moved is None:
            return "" if follows is Follows.STAYS else "travel is not read: nobody saw it move"
        if follows is Follows.STAYS:
            return f"the valve moved by {moved * 100:+.1f} %" if abs(moved) > MOVED else ""
        wanted = 1.0 if follows is Follows.OPENS else -1.0
        if moved * wanted < -MOVED:
            return f"travel went the other way, {moved * 100:+.1f} %"
        if moved * wanted <= MOVED:
            return "the valve did not move"
        end = End.OPEN if follows is Follows.OPENS else End.CLOSED
        return f"it ran on to its {end.value} end: nothing stopped it" if self.at is end else ""

    def _stem_wrong(self) -> str:
        if not self.act.stem:
            return ""
        wanted = {Follows.OPENS: "open", Follows.CLOSES: "closed"}.get(self.act.follows, "still")
        return "" if self.stem == wanted else f"the stem went {self.stem or 'nobody saw where'}, not {wanted}"

    def _bit_wrong(self) -> str:
        if self.act.remote is None or self.remote is None or self.remote is self.act.remote:
            return ""
        return f"the selector's bit shows {'remote' if self.remote else 'not remote'}"


class ActsObserved(msgspec.Struct, frozen=True, kw_only=True):
    """
    A whole list of acts as it was seen.

    Args:
        test: Names the run.

        seen: Each act, in order.

        why: Why it ended early; empty where all was done.
    """

    test: str
    seen: tuple[ActSeen, ...]
    why: str = ""
    commanded_by: str = "people at panel and control room"

    @property
    def verdict(self) -> tuple[bool | None, str]:
        """Whether all was as it should be, None where it was not all tried; and in words."""
        wrong = [f"{one.act.id}: {one.wrong}" for one in self.seen if one.wrong]
        if wrong:
            return False, "; ".join(wrong)
        if self.why:
            return None, self.why
        return True, "; ".join(one.words for one in self.seen)

"""What was seen of one stroke: the input of `timing`, `curve` and of every recomputation."""

from enum import StrEnum
from functools import cached_property, lru_cache
from itertools import pairwise
from statistics import median

import msgspec

from commission.sample import Silence, Written
from commission.sheet import End
from commission.sheet.decode import Reading, Readings


class StrokeEnd(StrEnum):
    """How the watching of a stroke ended."""

    HOME = "end limit made"
    TIMED_OUT = "end of travel not reached in time"
    NOT_READY = "not still at the start end"
    REFUSED = "the unit refused the command"
    NO_MOTION = "the command was not answered and nothing moved"


_FROM_OPEN = "travel from open"


class StrokeObserved(msgspec.Struct, frozen=True, kw_only=True, dict=True):
    """
    One stroke as it was seen.

    Args:
        test: Identifies the test, as `K1 closed 2`.

        direction: The end that the stroke goes to.

        command: The command as the wire saw it; None where somebody else gave it.

        seen: Every sample and every silence, in order.

        ended: How the watching ended.

        why: More words about that, for people.

        timed_by: What timed it (safety rule R19).

        commanded_by: Laptop, unit, local, control room or hand pump (safety rule R19).
    """

    test: str
    direction: End
    command: Written | None
    seen: tuple[Readings | Silence, ...]
    ended: StrokeEnd
    why: str = ""
    timed_by: str = "samples over the link"
    commanded_by: str = "laptop"

    def track(self, role: str) -> tuple[Reading, ...]:
        """All readings of one role, in order; empty where it was not read."""
        if role not in self._tracks:
            readings = (item.get(role) for item in self.seen if isinstance(item, Readings))
            self._tracks[role] = tuple(reading for reading in readings if reading is not None)
        return self._tracks[role]

    @cached_property
    def _tracks(self) -> dict[str, tuple[Reading, ...]]:
        """What was asked for already: a dozen figures want the same few tracks of a long trace."""
        return {}

    @property
    def start_end(self) -> End:
        """The end that the stroke leaves."""
        return End.CLOSED if self.direction is End.OPEN else End.OPEN

    def progress(self) -> tuple[Reading, ...]:
        """Travel as a fraction of the way from the start end to the other."""
        if self.direction is End.OPEN:
            return self.track("travel")
        if _FROM_OPEN not in self._tracks:
            travel = self.track("travel")
            self._tracks[_FROM_OPEN] = tuple(Reading(1.0 - r.value, r.at_ns, r.half_width_ns) for r in travel)
        return self._tracks[_FROM_OPEN]


def limit_role(end: End) -> str:
    """The role of the limit at this end of travel."""
    return "open_limit" if end is End.OPEN else "closed_limit"


@lru_cache(maxsize=4)
def longest_step_ns(track: tuple[Reading, ...]) -> int:
    """
    The longest time between two readings that is still ordinary polling: 2½ times the median step.

    Anything longer is a gap, and is said beside each figure that rests on it.
    """
    steps = [after.at_ns - before.at_ns for before, after in pairwise(track)]
    return round(2.5 * median(steps)) if steps else 0

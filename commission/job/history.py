"""Fold: baselines set, and the earlier job that a re-test begins from. A baseline is never erased, only followed."""

import msgspec

from commission.job.bodies import BaselineSet, EarlierJobTaken
from commission.job.fold import Happened


class Kept(msgspec.Struct, frozen=True):
    """A baseline with the time it was set; `earlier` where an earlier job set it."""

    set: BaselineSet
    at_utc: str
    earlier: bool = False


class History(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is known from before, and what later visits are to know.

    Args:
        earlier: The earlier job, where this is a re-test.

        baselines: All of them, the first first.
    """

    earlier: EarlierJobTaken | None = None
    baselines: tuple[Kept, ...] = ()

    @property
    def baseline(self) -> Kept | None:
        """The baseline in force: the latest."""
        return self.baselines[-1] if self.baselines else None


def fold_history(history: History, seen: Happened) -> History:
    """
    The history after one more event.

    Raises:
        ValueError: a second earlier job; a baseline under a name that is taken, or renewed without a reason.
    """
    event, body = seen.event, seen.body
    match body:
        case EarlierJobTaken():
            if history.earlier is not None:
                raise ValueError("this job begins from an earlier one already")
            taken = tuple(Kept(one, event.at_utc, earlier=True) for one in body.baselines)
            return History(earlier=body, baselines=(*history.baselines, *taken))
        case BaselineSet():
            if body.baseline.id in {kept.set.baseline.id for kept in history.baselines}:
                raise ValueError(f"baseline {body.baseline.id} is set already; nothing is replaced")
            if history.baselines and not body.reason.strip():
                raise ValueError("a baseline is renewed only by a signed decision with its reason")
            return msgspec.structs.replace(history, baselines=(*history.baselines, Kept(body, event.at_utc)))
    return history

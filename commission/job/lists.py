"""Fold: the temporary list and the deviations. Nothing on either is ever deleted."""

from collections.abc import Mapping

import msgspec

from commission.job.bodies import (
    DeviationAccepted,
    DeviationRaised,
    TemporaryAdded,
    TemporaryRemoved,
)
from commission.job.fold import Happened


class Temporary(msgspec.Struct, frozen=True):
    """One temporary thing: on since when by whom, and how it came off."""

    added: TemporaryAdded
    by: str
    on_utc: str
    removed: TemporaryRemoved | None = None
    off_by: str = ""
    off_utc: str = ""

    @property
    def is_on(self) -> bool:
        """Whether it blocks signing."""
        return self.removed is None


class Deviation(msgspec.Struct, frozen=True):
    """One deviation, and who accepted it."""

    raised: DeviationRaised
    by: str
    at_utc: str
    accepted: DeviationAccepted | None = None
    accepted_by: str = ""


def fold_temporary(items: Mapping[str, Temporary], seen: Happened) -> Mapping[str, Temporary]:
    """The temporary list by id after one more event."""
    event, body = seen.event, seen.body
    match body:
        case TemporaryAdded():
            return {**items, body.id: Temporary(body, event.by, event.at_utc)}
        case TemporaryRemoved():
            off = msgspec.structs.replace(items[body.id], removed=body, off_by=event.by, off_utc=event.at_utc)
            return {**items, body.id: off}
    return items


def fold_deviations(items: Mapping[str, Deviation], seen: Happened) -> Mapping[str, Deviation]:
    """The deviations by id after one more event."""
    event, body = seen.event, seen.body
    match body:
        case DeviationRaised():
            return {**items, body.id: Deviation(body, event.by, event.at_utc)}
        case DeviationAccepted():
            accepted = msgspec.structs.replace(items[body.id], accepted=body, accepted_by=event.by)
            return {**items, body.id: accepted}
    return items

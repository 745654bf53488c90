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
    """
    The temporary list by id after one more event.

    Raises:
        ValueError: an id is used twice, or a thing is removed that is not on, or that nobody else has seen.
    """
    event, body = seen.event, seen.body
    match body:
        case TemporaryAdded():
            if body.id in items:
                raise ValueError(f"{body.id} is on the temporary list already; nothing on it is replaced")
            return {**items, body.id: Temporary(body, event.by, event.at_utc)}
        case TemporaryRemoved():
            _check_removal(items, body, event.by)
            off = msgspec.structs.replace(items[body.id], removed=body, off_by=event.by, off_utc=event.at_utc)
            return {**items, body.id: off}
    return items


def _check_removal(items: Mapping[str, Temporary], body: TemporaryRemoved, by: str) -> None:
    if body.id not in items:
        raise ValueError(f"{body.id} is not on the temporary list")
    if not items[body.id].is_on:
        raise ValueError(f"{body.id} is off the temporary list already")
    if body.second_person.strip() in ("", by.strip()):
        raise ValueError(f"{body.id} comes off the temporary list only when a second person has seen it")


def fold_deviations(items: Mapping[str, Deviation], seen: Happened) -> Mapping[str, Deviation]:
    """
    The deviations by id after one more event.

    Raises:
        ValueError: an id is used twice.

        KeyError: what is accepted was not raised.
    """
    event, body = seen.event, seen.body
    match body:
        case DeviationRaised():
            if body.id in items:
                raise ValueError(f"deviation {body.id} was raised already; nothing on the list is replaced")
            return {**items, body.id: Deviation(body, event.by, event.at_utc)}
        case DeviationAccepted():
            accepted = msgspec.structs.replace(items[body.id], accepted=body, accepted_by=event.by)
            return {**items, body.id: accepted}
    return items

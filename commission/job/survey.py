"""Fold: settings, counters and selector as they stood when live was entered or left last."""

from collections.abc import Mapping

import msgspec

from commission.job.bodies import Adjusted, TemporaryAdded, TemporaryRemoved, UnitSurveyed
from commission.job.fold import Happened

SETTING = "setting"
"""Kind of the temporary thing that is a lowered or raised setting; adjustments of settings are named with the word."""


class Surveyed(msgspec.Struct, frozen=True, kw_only=True):
    """
    The last look, and what was recorded since.

    Args:
        values: By role.

        at_utc: When.

        known: What somebody recorded as changed since: words for a reader.
    """

    values: Mapping[str, float]
    at_utc: str
    known: tuple[str, ...] = ()


def fold_survey(surveyed: Surveyed | None, seen: Happened) -> Surveyed | None:
    """The last look, after one more event."""
    event, body = seen.event, seen.body
    if isinstance(body, UnitSurveyed):
        return Surveyed(values=body.values, at_utc=event.at_utc)
    if surveyed is None:
        return None
    replace = msgspec.structs.replace
    match body:
        case Adjusted() if SETTING in body.touched:
            return replace(surveyed, known=(*surveyed.known, f"{body.detail}, by {event.by}"))
        case TemporaryAdded() if body.kind == SETTING:
            return replace(surveyed, known=(*surveyed.known, f"{body.id} {body.what}, by {event.by}"))
        case TemporaryRemoved():
            return replace(surveyed, known=(*surveyed.known, f"{body.id} taken off, by {event.by}"))
    return surveyed

"""What every fold gets to see: an event with its typed body."""

from typing import TypeVar

import msgspec

from commission.job.bodies import Body, body_of
from commission.record.event import Event

T = TypeVar("T", bound=Body)


class Happened(msgspec.Struct, frozen=True):
    """An event and its body; None for a kind this program does not know, which is kept and shown."""

    event: Event
    body: Body | None


def happened(event: Event) -> Happened:
    """
    The event with its typed body.

    Raises:
        msgspec.ValidationError: a known kind of an impossible shape.
    """
    return Happened(event, body_of(event.kind, event.body))

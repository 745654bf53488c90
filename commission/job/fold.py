"""What every fold gets to see: an event with its typed body."""

from typing import TypeVar

import msgspec

from commission.job.bodies import Body, body_of
from commission.record.event import Event

T = TypeVar("T", bound=Body)

VERSION = 1
"""Version of the bodies in `bodies`, to which `record.upcasts` brings older ones."""


class Happened(msgspec.Struct, frozen=True):
    """An event and its body; None for a kind this program does not know, which is kept and shown."""

    event: Event
    body: Body | None


def happened(event: Event) -> Happened:
    """
    The event with its typed body; a known kind in a later version is as unknown as a kind this program never heard of.

    Raises:
        msgspec.ValidationError: a known kind of an impossible shape.
    """
    return Happened(event, body_of(event.kind, event.body) if event.v == VERSION else None)

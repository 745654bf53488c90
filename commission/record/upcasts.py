"""
Bring old events up to date: one pure function for each (kind, version), which makes the next version of it.

Old classes are never edited and stored text is never rewritten: an event is upcast each time it is read.
"""

from collections.abc import Callable, Mapping

from commission.record.errors import RecordDamaged
from commission.record.event import Event

Upcast = Callable[[Event], Event]
Registry = Mapping[tuple[str, int], Upcast]

UPCASTS: Registry = {}
"""Every kind is at its first version."""


def upcast(event: Event, registry: Registry = UPCASTS) -> Event:
    """
    The event in the newest version that is known; an event without an upcast is returned as it is.

    Args:
        event: As stored.

        registry: From (kind, version) to the function that makes a later version of it.

    Raises:
        RecordDamaged: the stored body does not hold what its version promises.

        ValueError: an upcast does not go forward, or changes what was recorded about the event.
    """
    current = event
    while (step := registry.get((current.kind, current.v))) is not None:
        try:
            later = step(current)
        except (KeyError, TypeError, AttributeError) as error:
            raise RecordDamaged(
                f"event {event.n}, {current.kind}: its facts are not as version {current.v} has them ({error!r})"
            ) from error
        if later.v <= current.v:
            raise ValueError(f"the upcast of {current.kind} version {current.v} does not go forward")
        if _circumstances(later) != _circumstances(event):
            raise ValueError(f"the upcast of {current.kind} version {current.v} changes when, who or where")
        current = later
    return current


def _circumstances(event: Event) -> tuple[int, str, str, int, str, bool]:
    return (event.n, event.session, event.at_utc, event.at_mono_ns, event.by, event.need)

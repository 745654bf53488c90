"""One event of the record, as text and as a value."""

import hashlib
from datetime import datetime
from typing import Any

import msgspec

GENESIS = b"\0" * 32
"""Digest that stands before the first event."""


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a person did, said or was shown as a result; what was sent; a bit change; a gap.

    Args:
        n: Order in the record, from 1; time never orders events.

        session: Which run of the program wrote it.

        at_utc: The laptop's clock (UTC), RFC 3339.

        at_mono_ns: Unit time in nanoseconds; only comparable within a session.

        by: Whose word it is: a person's name, `unit`, or `program`.

        kind: Name of the event, a past participle as `step_concluded`.

        v: Version of this kind's body.

        need: True where a program that does not know the kind must not write to this job.

        body: The facts.
    """

    n: int
    session: str
    at_utc: str
    at_mono_ns: int
    by: str
    kind: str
    v: int
    need: bool
    body: dict[str, Any]

    @property
    def at(self) -> datetime:
        """The laptop's clock as a datetime in UTC."""
        return datetime.fromisoformat(self.at_utc)

    def text(self) -> str:
        """The JSON text that is stored and chained; written once, never re-encoded."""
        return msgspec.json.encode(self).decode()


def link_digest(previous: bytes, text: str) -> bytes:
    """SHA-256(previous ‖ text): the digest that stands beside the event (FIPS 180-4)."""
    return hashlib.sha256(previous + text.encode()).digest()


def event_from_text(text: str) -> Event:
    """
    The event in its stored text.

    Raises:
        msgspec.DecodeError: the text is not an event.
    """
    return msgspec.json.decode(text, type=Event)

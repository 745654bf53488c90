"""Fold: the line to the unit, and whether this job is practice for good (safety rule R15)."""

import msgspec

from commission.job.bodies import (
    Adjusted,
    Answered,
    Body,
    Connected,
    ContactBack,
    ContactLost,
    Disconnected,
    EnergyBegun,
    EnergyEntered,
    EnergyLost,
    EnergyProved,
    LeaveGiven,
    LeaveWithdrawn,
    SessionEnded,
    SessionStarted,
)
from commission.job.fold import Happened


class Touched(msgspec.Struct, frozen=True):
    """An adjustment, with its time: the report prints it between as-found and as-left."""

    adjusted: Adjusted
    by: str
    at_utc: str


class Contact(msgspec.Struct, frozen=True, kw_only=True):
    """
    The line.

    Args:
        connected: The latest connection, or None.

        up: Whether the unit answered last time.

        reason: Why it is not up.

        practice: Whether any connection of this job was to a practice unit, or any answer came from a file.

        losses: How often contact was lost.

        adjustments: Everything that was touched.

        leave: Leave in force, as recorded; no energy event and no session leaves it in force (safety rule R9).
    """

    connected: Connected | None = None
    up: bool = False
    reason: str = "not connected yet"
    practice: bool = False
    losses: int = 0
    adjustments: tuple[Touched, ...] = ()
    leave: LeaveGiven | None = None


def fold_contact(contact: Contact, seen: Happened) -> Contact:
    """The line after one more event."""
    event, body = seen.event, seen.body
    replace = msgspec.structs.replace
    contact = _fold_line(contact, body)
    match body:
        case Answered() if body.from_file:
            return replace(contact, practice=True)
        case Adjusted():
            touched = Touched(body, event.by, event.at_utc)
            return replace(contact, adjustments=(*contact.adjustments, touched))
        case LeaveGiven():
            return replace(contact, leave=body)
        case EnergyBegun() | EnergyProved() | EnergyEntered() | EnergyLost() | LeaveWithdrawn():
            return replace(contact, leave=None)
    return contact


def _fold_line(contact: Contact, body: Body | None) -> Contact:
    """Whether the unit answers."""
    replace = msgspec.structs.replace
    match body:
        case Connected():
            practice = contact.practice or body.practice_speed is not None
            return replace(contact, connected=body, up=True, reason="", practice=practice)
        case SessionStarted():
            return replace(contact, up=False, reason="not connected since the program was started", leave=None)
        case SessionEnded():
            return replace(contact, up=False, reason=body.reason, leave=None)
        case ContactLost():
            return replace(contact, up=False, reason=body.reason, losses=contact.losses + 1)
        case ContactBack():
            return replace(contact, up=True, reason="")
        case Disconnected():
            return replace(contact, up=False, reason="disconnected")
    return contact

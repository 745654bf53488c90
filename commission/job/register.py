"""Fold: who is there, what is measured with, on which permit, by which clock, and who signed."""

from collections.abc import Mapping

import msgspec

from commission.job.bodies import (
    ClockCompared,
    InstrumentAdded,
    LeaveWithdrawn,
    MovementConfirmed,
    PermitRecorded,
    PersonAdded,
    ReportMade,
    Signed,
    StemLookedAt,
    WaitShortened,
)
from commission.job.fold import Happened


class Signature(msgspec.Struct, frozen=True):
    """A statement with its signer and time."""

    signed: Signed
    by: str
    at_utc: str


class Compared(msgspec.Struct, frozen=True):
    """A clock comparison with its time."""

    compared: ClockCompared
    at_utc: str


class Confirmed(msgspec.Struct, frozen=True):
    """A confirmed movement with its time and by whom."""

    confirmed: MovementConfirmed
    by: str
    at_utc: str


class Register(msgspec.Struct, frozen=True, kw_only=True):
    """
    People, instruments, permits, clocks, confirmations, looks at the stem, signatures and reports of a job.

    `gone` is when leave for a test was withdrawn last, by the test: a confirmation from before that is used up.
    """

    people: Mapping[str, PersonAdded] = {}
    instruments: Mapping[str, InstrumentAdded] = {}
    permits: tuple[PermitRecorded, ...] = ()
    clocks: tuple[Compared, ...] = ()
    confirmed: tuple[Confirmed, ...] = ()
    stem_looks: tuple[StemLookedAt, ...] = ()
    signatures: tuple[Signature, ...] = ()
    reports: tuple[ReportMade, ...] = ()
    shortened: tuple[WaitShortened, ...] = ()
    gone: Mapping[str, str] = {}

    @property
    def permit(self) -> PermitRecorded | None:
        """The permit in force: the latest recorded."""
        return self.permits[-1] if self.permits else None


def fold_register(register: Register, seen: Happened) -> Register:
    """The register after one more event."""
    event, body = seen.event, seen.body
    replace = msgspec.structs.replace
    match body:
        case PersonAdded():
            return replace(register, people={**register.people, body.name: body})
        case InstrumentAdded():
            return replace(register, instruments={**register.instruments, body.id: body})
        case PermitRecorded():
            return replace(register, permits=(*register.permits, body))
        case ClockCompared():
            return replace(register, clocks=(*register.clocks, Compared(body, event.at_utc)))
        case MovementConfirmed():
            return replace(register, confirmed=(*register.confirmed, Confirmed(body, event.by, event.at_utc)))
        case LeaveWithdrawn():
            return replace(register, gone={**register.gone, body.test: event.at_utc})
        case StemLookedAt():
            return replace(register, stem_looks=(*register.stem_looks, body))
        case Signed():
            return replace(register, signatures=(*register.signatures, Signature(body, event.by, event.at_utc)))
        case WaitShortened():
            return replace(register, shortened=(*register.shortened, body))
        case ReportMade():
            return replace(register, reports=(*register.reports, body))
    return register

"""
Fold: the sequence of events: every bit that changed and every command that was put on the wire, with the span in which
it happened (safety rule R25).
"""

from datetime import datetime, timedelta

import msgspec

from commission.analysis.sequence import Span, in_order
from commission.clock import NS_PER_S
from commission.job.bodies import BitsChanged, CommandSent
from commission.job.fold import Happened
from commission.record.event import Event
from commission.sheet import ROLES, Sheet

UNIT, LAPTOP = "unit", "laptop"
"""Who brought an event about, or showed it."""


class Happening(msgspec.Struct, frozen=True, kw_only=True):
    """
    One event of the sequence.

    Args:
        session: The session whose unit time the span is in; spans of two sessions have no order but that of sessions.

        span: When it happened, as far as is known; the unit's scan is in it.

        at_utc: The middle of the span, RFC 3339.

        source: `unit` or `laptop`.

        role: The point that changed or was written.

        value: What the bit is now, or what was written.

        words: What happened, as `ESD loop: healthy to tripped`.

        run: The run it was seen in; empty beside the walk.
    """

    session: str
    span: Span
    at_utc: str
    source: str
    role: str
    value: int
    words: str
    run: str


class InSequence(msgspec.Struct, frozen=True):
    """A happening with its number, and the numbers of those that it cannot be told from."""

    number: int
    happening: Happening
    undecided: tuple[int, ...]


def fold_sequence(sequence: tuple[Happening, ...], seen: Happened, sheet: Sheet) -> tuple[Happening, ...]:
    """The happenings, after one more event."""
    match seen.body:
        case BitsChanged() as body:
            return (*sequence, *_changes(seen.event, body, sheet))
        case CommandSent() as body:
            return (*sequence, _command(seen.event, body))
    return sequence


def numbered(sequence: tuple[Happening, ...]) -> tuple[InSequence, ...]:
    """
    The happenings in the order of their best estimates, numbered from 1.

    Unit time can only be compared within a session, so sessions follow each other as they did.
    """
    found: list[InSequence] = []
    for session in dict.fromkeys(happening.session for happening in sequence):
        own = [happening for happening in sequence if happening.session == session]
        first = len(found) + 1
        found += [
            InSequence(first + place, own[placed.index], tuple(first + other for other in placed.undecided))
            for place, placed in enumerate(in_order([happening.span for happening in own]))
        ]
    return tuple(found)


def _changes(event: Event, body: BitsChanged, sheet: Sheet) -> tuple[Happening, ...]:
    """What a reading shows is up to one scan of the unit old: a change may be that much older than the reading."""
    scan_ns = round(sheet.link.scan_s * NS_PER_S)
    span = Span(body.after_ns - scan_ns, body.by_ns)
    return tuple(
        _happening(event, span, UNIT, role, new, _changed_words(role, old, new), body.run)
        for role, (old, new) in body.changes.items()
    )


def _changed_words(role: str, old: int, new: int) -> str:
    known = ROLES.get(role)
    if known is None:
        return f"{role}: {old} to {new}"
    words = (known.false_word, known.true_word)
    return f"{known.label}: {words[old != 0]} to {words[new != 0]}"


def _command(event: Event, body: CommandSent) -> Happening:
    span = Span(body.at_ns - body.half_width_ns, body.at_ns + body.half_width_ns)
    known = ROLES.get(body.role)
    label = body.role if known is None else known.label
    value = "" if body.value == 1 else f" = {body.value}"
    words = f"{label}{value} sent, {body.outcome} ({body.purpose})"
    return _happening(event, span, LAPTOP, body.role, body.value, words, body.run)


def _happening(event: Event, span: Span, source: str, role: str, value: int, words: str, run: str) -> Happening:
    before = timedelta(microseconds=(event.at_mono_ns - span.middle_ns) / 1000)
    at_utc = (datetime.fromisoformat(event.at_utc) - before).isoformat(timespec="milliseconds")
    return Happening(
        session=event.session, span=span, at_utc=at_utc, source=source, role=role, value=value, words=words, run=run
    )

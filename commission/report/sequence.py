"""The sequence of events as a table: what happened when, how well that is known, and where the order is not decided."""

from commission.job import state
from commission.job.sequence import InSequence, numbered
from commission.report.display import clock_text, date_text
from commission.report.table import Row, Table

NOT_DECIDED = "order not decided"

_NAMED_AT_MOST = 4
"""So many numbers are named; more are counted."""

_NOTE = (
    "Each event lies within ± of its time: between two readings, with the unit's scan, or on the wire. Where two spans"
    " overlap, either may have been the first: their order is not decided. Times are the laptop's clock in UTC."
)


def sequence(job: state.Job) -> Table:
    """Every bit that changed and every command, in the order of their best estimates."""
    day = date_text(job.begun_utc)
    rows = tuple(_row(job, item, day) for item in numbered(job.sequence))
    return Table(
        title="Sequence of events",
        columns=("no.", "UTC", "within ±", "what", "in", "order"),
        rows=rows,
        empty="nothing changed and nothing was sent",
        notes=(_NOTE,) if rows else (),
    )


def order_words(item: InSequence) -> str:
    """Which events this one cannot be told from; empty where its place is certain."""
    others = item.undecided
    if not others:
        return ""
    named = ", ".join(str(number) for number in others[:_NAMED_AT_MOST])
    more = f" and {len(others) - _NAMED_AT_MOST} more" if len(others) > _NAMED_AT_MOST else ""
    return f"{NOT_DECIDED} with {named}{more}"


def within_words(item: InSequence) -> str:
    """How far its time may be off: to the millisecond, upwards."""
    width_ms = -(-item.happening.span.half_width_ns // 1_000_000)
    return f"{width_ms} ms" if width_ms < 10_000 else f"{-(-width_ms // 1000)} s"


def time_words(at_utc: str, day: str) -> str:
    """A time to the millisecond, with its date where that is another day."""
    return f"{clock_text(at_utc, day)}.{at_utc[20:23]}"


def _row(job: state.Job, item: InSequence, day: str) -> Row:
    one = item.happening
    run = job.runs.get(one.run)
    where = "" if run is None else run.begun.test
    return (str(item.number), time_words(one.at_utc, day), within_words(item), one.words, where, order_words(item))

"""
How good the line to the unit is, as a measured answer: from the line's own counters, read on until there are enough.

The trade asks for none damaged in a thousand reads and fewer than one in a thousand unanswered. Three thousand reads
without one are needed to say the second at 95 %, so that many are made. What went unanswered while the unit was locked
off says nothing of the line, so it is counted from the last entry into control on; not from the first answer after a
silence, which would hide a line that comes and goes.
"""

from collections.abc import Mapping

from commission.analysis.counted import upper_bound
from commission.checklist.model import LINE_DAMAGED
from commission.visit import Visit, VisitError

READS = 3000
MOST_UNANSWERED = 20
"""So many are enough to say that it is no good line; a silent unit is not asked three thousand times."""

_DAMAGED, _UNANSWERED, _ANSWERED = "BadAnswer", "NoAnswer", "answered"


async def line_quality(visit: Visit, role: str) -> float:
    """
    Read on until the line has been asked often enough since it was opened, or since control was entered.

    Args:
        visit: The open visit.

        role: `line_damaged` for the count of damaged answers, `line_unanswered` for the 95 % bound in percent.

    Raises:
        VisitError: there is no line.
    """
    link, alive = visit.link, visit.job.sheet.link.alive
    if link is None:
        raise VisitError("there is no line to the unit")
    while asked(counts := link.health.counts_anew) < READS and counts[_UNANSWERED] < MOST_UNANSWERED:
        try:
            await visit.read((alive,))
        except VisitError:
            if not link.health.counts_anew[_UNANSWERED]:
                raise
    if role == LINE_DAMAGED:
        return float(counts[_DAMAGED])
    return round(100 * upper_bound(counts[_UNANSWERED], asked(counts)), 4)


def asked(counts: Mapping[str, int]) -> int:
    """Requests that should have had a whole answer."""
    return sum(counts.get(name, 0) for name in (_ANSWERED, _DAMAGED, _UNANSWERED))

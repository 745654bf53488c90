"""
A time between two moments as a figure, with the terms of both moments as the lines of its budget.

The interval itself is that of `intervals`, in whole nanoseconds; the lines say what it is made of.
"""

import msgspec

from commission.analysis.budget import Budget, Line, normal, rectangular
from commission.analysis.intervals import Instant, duration_s
from commission.figure import Figure, make_figure

CALLED = ("start", "end")


def duration_figure(
    name: str,
    start: Instant,
    end: Instant,
    method: str,
    *,
    at_least: str = "",
    note: str = "",
    called: tuple[str, str] = CALLED,
) -> Figure:
    """
    The time from one moment to another, in seconds, with its budget.

    Args:
        name: Of the figure.

        start: From.

        end: To.

        method: The function that computed it, with its version.

        at_least: Why it is only a lower bound; empty where it is not.

        note: What a reader has to know, before what the moments themselves say.

        called: What the two moments are called in the budget.
    """
    value_s, half_s = duration_s(start, end)
    notes = "; ".join(dict.fromkeys(words for words in (at_least, note, start.note, end.note) if words))
    figure = make_figure(name, value_s, half_s, "s", method, lower_bound_only=bool(at_least), note=notes)
    return msgspec.structs.replace(figure, budget=Budget(duration_lines(start, end, called)).printable())


def duration_lines(start: Instant, end: Instant, called: tuple[str, str] = CALLED) -> tuple[Line, ...]:
    """The terms of both moments, in seconds, as lines of a budget."""
    return (*_lines(called[0], start), *_lines(called[1], end))


def _lines(which: str, moment: Instant) -> list[Line]:
    found = []
    for place, width in enumerate(moment.widths_ns):
        source = moment.sources[place] if place < len(moment.sources) else "its moment"
        if width:
            found.append(rectangular(f"{which}: {source}", width / 2e9))
    if moment.noise_ns:
        found.append(normal(f"{which}: noise of travel", moment.noise_ns / 1e9))
    return found

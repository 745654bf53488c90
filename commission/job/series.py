"""
What the strokes of one step come to together: how they repeat, how the two ways compare, friction and spring.

Works on the figures of the runs as they are stored. The walk records what comes out when the step is concluded;
`verify` does it again from the same figures.
"""

from collections.abc import Sequence
from decimal import Decimal

import msgspec

from commission.analysis.decision import decide
from commission.analysis.pairs import pair_figures
from commission.analysis.repeats import (
    LEAST_RUNS,
    REPEATABILITY_LIMITS,
    REPEATABILITY_ORIGIN,
    asymmetry,
    repeatability,
)
from commission.analysis.timing import judged_name
from commission.figure import Figure
from commission.job.bodies import ResultDecided, SeriesCompared
from commission.job.motions import Run
from commission.job.verdicts import with_decision
from commission.sheet import End, Sheet

_STROKES = ("full_stroke", "watched_stroke")
_WAYS = {End.OPEN: "opening", End.CLOSED: "closing"}


def compare(step: str, runs: Sequence[Run], sheet: Sheet) -> SeriesCompared | None:
    """
    The comparison of a step's runs; None where there is nothing to compare.

    Args:
        step: Id of the step.

        runs: Its finished runs that count, in any order.

        sheet: For the judged figure of each direction, piston and action.
    """
    ordered = sorted((run for run in runs if run.begun.procedure in _STROKES and run.figures), key=lambda run: run.n)
    by_end = {end: tuple(run for run in ordered if _end(run) is end) for end in End}
    figures: list[Figure] = []
    results: list[ResultDecided] = []
    times = {end: _best_times(by_end[end], judged_name(sheet, end)) for end in End}
    for end, found in times.items():
        if len(found) >= LEAST_RUNS:
            figure = _named(repeatability(found), f"repeatability_{_WAYS[end]}")
            figures.append(figure)
            results.append(_judged(step, _WAYS[end], figure))
    if all(len(found) >= LEAST_RUNS for found in times.values()):
        figures.append(asymmetry(times[End.OPEN], times[End.CLOSED]))
    figures += _pairs(by_end[End.OPEN], by_end[End.CLOSED], sheet)
    if not figures:
        return None
    names = tuple(run.begun.run for run in ordered)
    return SeriesCompared(step=step, runs=names, figures=tuple(figures), results=tuple(results))


def _end(run: Run) -> End | None:
    direction = run.begun.arguments.get("direction", "")
    return End(direction) if direction in set(End) else None


def _best_times(runs: Sequence[Run], judged: str) -> list[Figure]:
    """
    The time that the sheet's limit means, or the motion time where this line knows that one better in all.

    A fitted start and end of motion do better than the sample period; an edge of a limit contact never does.
    """
    candidates = [found for name in dict.fromkeys((judged, "motion_time")) if (found := _times(runs, name))]
    most = max((len(found) for found in candidates), default=0)
    complete = [found for found in candidates if len(found) == most]
    return min(complete, key=lambda found: sum(time.uncertainty_decimal for time in found), default=[])


def _times(runs: Sequence[Run], name: str) -> list[Figure]:
    """The judged times, without those that are only lower bounds; a nought would have no share to vary by."""
    found = (run.figure(name) for run in runs)
    return [
        figure for figure in found if figure is not None and not figure.lower_bound_only and figure.decimal > Decimal(0)
    ]


def _judged(step: str, way: str, figure: Figure) -> ResultDecided:
    empty = ResultDecided(
        run="",
        step=step,
        test=f"{step} {way} strokes together",
        figure=figure.name,
        verdict="",
        rule="",
        limit_low="",
        limit_high="",
        origin=REPEATABILITY_ORIGIN,
    )
    return with_decision(empty, decide(figure, REPEATABILITY_LIMITS))


def _pairs(opening: Sequence[Run], closing: Sequence[Run], sheet: Sheet) -> tuple[Figure, ...]:
    """From the last stroke each way: nothing was adjusted after them."""
    if not opening or not closing:
        return ()
    last_open, last_close = ({figure.name: figure for figure in runs[-1].figures} for runs in (opening, closing))
    return pair_figures(last_open, last_close, sheet)


def _named(figure: Figure, name: str) -> Figure:
    return msgspec.structs.replace(figure, name=name)

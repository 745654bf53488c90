"""
Is a job unaltered, signed, and do its figures recompute?

Three questions, answered apart: the chain (every event and chunk is as it was written), the signatures (a chain without
one proves neither its end nor its origin), and the figures (each procedure is started again, given the replies that the
record holds, and its figures and verdicts computed anew). Of each figure it says *same*, *same within rounding*,
*method changed*, *cannot recompute* or *differs*; only *differs* fails.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from enum import StrEnum
from itertools import zip_longest
from pathlib import Path

import msgspec

from commission.analysis.wiring import PointSeen
from commission.content import ContentError
from commission.energy import EnergyError
from commission.figure import Figure
from commission.job.answered import answers_of, compute
from commission.job.bodies import FiguresComputed, PointsProved, ResultDecided, SeriesCompared
from commission.job.motions import Run
from commission.job.playback import observed_of
from commission.job.series import compare
from commission.job.state import Job, JobError, fold
from commission.job.verdicts import RunMade, points_of, verdict_of
from commission.procedures.replay import CannotReplay
from commission.record.chain import ChainReport, check_chain
from commission.record.errors import RecordError
from commission.record.event import Event
from commission.record.reader import Reader


class Recomputed(StrEnum):
    """What recomputing says of one figure."""

    SAME = "same"
    WITHIN_ROUNDING = "same within rounding"
    METHOD_CHANGED = "method changed"
    CANNOT = "cannot recompute"
    DIFFERS = "differs"


VERDICT = "verdict"
"""Stands in place of a figure's name where the verdict itself was recomputed."""


POINTS = "points"
"""Stands in place of a figure's name where what a wiring proof saw was recomputed."""


class FigureCheck(msgspec.Struct, frozen=True):
    """One figure of one run, or its verdict, recomputed."""

    run: str
    test: str
    figure: str
    recomputed: Recomputed
    words: str = ""


class JobCheck(msgspec.Struct, frozen=True):
    """
    Everything that verifying one job found.

    Args:
        chain: What the chain says.

        signed: Whether anybody's signature closes it; typed names are statements, not signatures.

        figures: Every stored figure and verdict, recomputed.

        trouble: Why the events could not be read as a job; empty where they could.
    """

    chain: ChainReport
    signed: bool
    figures: tuple[FigureCheck, ...]
    trouble: str = ""

    @property
    def unaltered(self) -> bool:
        """Whether the record is as it was written."""
        return self.chain.intact and not self.trouble

    @property
    def recomputes(self) -> bool:
        """Whether no figure differs."""
        return all(check.recomputed is not Recomputed.DIFFERS for check in self.figures)


def verify_job(path: Path) -> JobCheck:
    """
    Verify one job file.

    Raises:
        RecordError: there is no record to check (missing, not a job, too new).
    """
    chain = check_chain(path)
    try:
        with Reader(path) as reader:
            events = tuple(reader.events())
            job = fold(events)
            figures = tuple(check for run in job.runs.values() for check in check_run(job, run, events, reader))
            figures += tuple(check for series in job.compared for check in check_series(job, series))
    except (RecordError, JobError, ContentError, EnergyError, ValueError, LookupError, msgspec.MsgspecError) as error:
        if chain.intact:
            return JobCheck(chain, signed=False, figures=(), trouble=f"the events make no job: {error}")
        return JobCheck(
            chain, signed=False, figures=(), trouble=f"not recomputed, because the record is altered: {error}"
        )
    return JobCheck(chain, signed=False, figures=figures)


def check_run(job: Job, run: Run, events: tuple[Event, ...], reader: Reader) -> Iterator[FigureCheck]:
    """Every stored figure and verdict of one run, recomputed from what the record holds."""
    begun = run.begun
    if not run.figures and not run.results:
        return
    try:
        computed, decided, proved = _compute(job, run, events, reader)
    except (CannotReplay, RecordError, ValueError, LookupError) as error:
        for name in [figure.name for figure in run.figures] or [VERDICT]:
            yield FigureCheck(begun.run, begun.test, name, Recomputed.CANNOT, str(error))
        return
    figures = () if computed is None else computed.figures
    anew = {figure.name: figure for figure in figures}
    of = (begun.run, begun.test)
    yield from _compare_figures(of, run.figures, anew)
    if run.proved is not None or proved is not None:
        yield _compare_points(run, proved)
    changed = any(stored.name in anew and anew[stored.name].method != stored.method for stored in run.figures)
    for stored in run.results:
        yield _compare_verdicts(of, stored, decided, method_changed=changed)


def check_series(job: Job, stored: SeriesCompared) -> Iterator[FigureCheck]:
    """Every figure and verdict of strokes taken together, computed again from the stored figures of the runs."""
    if stored.answers:
        yield from check_answers(job, stored)
        return
    of = (stored.step, f"{stored.step} strokes together")
    runs = [job.runs[name] for name in stored.runs if name in job.runs]
    together = compare(stored.step, runs, job.sheet)
    if together is None or together.runs != stored.runs:
        for name in [figure.name for figure in stored.figures] or [VERDICT]:
            yield FigureCheck(*of, name, Recomputed.CANNOT, "the runs that it names are not all in the record")
        return
    yield from _compare_figures(of, stored.figures, {figure.name: figure for figure in together.figures})
    decided = {result.figure: result for result in together.results}
    for result in stored.results:
        figure, again = stored.figure(result.figure), together.figure(result.figure)
        changed = figure is not None and again is not None and figure.method != again.method
        if result.figure in decided:
            yield _compare_verdicts(of, result, decided[result.figure], method_changed=changed)
        else:
            yield FigureCheck(*of, VERDICT, Recomputed.DIFFERS, f"nothing is decided of {result.figure} any more")


def check_answers(job: Job, stored: SeriesCompared) -> Iterator[FigureCheck]:
    """Every figure and verdict computed from answers, again, and whether those were given in one attempt."""
    of = (stored.step, f"{stored.step} answers")
    step = job.checklist.step(stored.step)
    attempts = job.steps[stored.step].attempts if stored.step in job.steps else ()
    again = compute(step, stored.answers)
    if again is None or stored.answers not in [answers_of(step, attempt) for attempt in attempts]:
        for figure in stored.figures:
            yield FigureCheck(*of, figure.name, Recomputed.DIFFERS, "nobody gave the answers that it is computed from")
        return
    yield from _compare_figures(of, stored.figures, {figure.name: figure for figure in again.figures})
    decided = {result.figure: result for result in again.results}
    for result in stored.results:
        if result.figure in decided:
            yield _compare_verdicts(of, result, decided[result.figure], method_changed=False)
        else:
            yield FigureCheck(*of, VERDICT, Recomputed.DIFFERS, f"nothing is decided of {result.figure} any more")


def _compare_figures(
    of: tuple[str, str], stored: tuple[Figure, ...], anew: Mapping[str, Figure]
) -> Iterator[FigureCheck]:
    for figure in stored:
        yield _compare(of, figure, anew.get(figure.name))
    names, known = {figure.name for figure in stored}, {figure.method for figure in stored}
    for extra in anew.values():
        if extra.name not in names:
            yield _extra(of, extra, known)


def _extra(of: tuple[str, str], extra: Figure, known: set[str]) -> FigureCheck:
    """A figure that comes out and is not stored: by a method that the record does not know, it is a newer one."""
    if extra.method in known:
        found, words = Recomputed.DIFFERS, "it is not in the record"
    else:
        found, words = Recomputed.METHOD_CHANGED, f"this program also computes it, by {extra.method}"
    return FigureCheck(*of, extra.name, found, words)


def _compute(
    job: Job, run: Run, events: tuple[Event, ...], reader: Reader
) -> tuple[FiguresComputed | None, ResultDecided, PointsProved | None]:
    """What the run comes to; one that did not finish observed nothing, and nothing may be stored for it."""
    begun, ended = run.begun, run.ended
    made = RunMade(
        run=begun.run,
        step=begun.step,
        test=begun.test,
        procedure=begun.procedure,
        arguments=begun.arguments,
        how="" if ended is None else ended.how,
        reason="" if ended is None else ended.reason,
        guard="" if run.tripped is None else run.tripped.guard,
    )
    observed = observed_of(job, run, events, reader) if made.how == "finished" else None
    return *verdict_of(made, observed, job.sheet), points_of(made, observed)


def _compare(of: tuple[str, str], stored: Figure, anew: Figure | None) -> FigureCheck:
    def found(recomputed: Recomputed, words: str = "") -> FigureCheck:
        return FigureCheck(*of, stored.name, recomputed, words)

    if anew is None:
        return found(Recomputed.DIFFERS, "it does not come out any more")
    if anew.method != stored.method:
        return found(Recomputed.METHOD_CHANGED, f"stored by {stored.method}, this program has {anew.method}")
    same_texts = (anew.value, anew.expanded_uncertainty) == (stored.value, stored.expanded_uncertainty)
    same_meaning = (anew.unit, anew.lower_bound_only, anew.note) == (stored.unit, stored.lower_bound_only, stored.note)
    if same_texts and same_meaning:
        return found(Recomputed.SAME)
    words = (
        f"stored {stored.value} ± {stored.expanded_uncertainty} {stored.unit}, "
        f"recomputed {anew.value} ± {anew.expanded_uncertainty} {anew.unit}"
    )
    within = same_meaning and _within_a_place(stored, anew)
    return found(Recomputed.WITHIN_ROUNDING if within else Recomputed.DIFFERS, words)


_DECIDED = ("figure", "verdict", "limit_low", "limit_high", "origin", "compared")
"""What a stored verdict must share with the recomputed one; its rule's wording may change from program to program."""


def _compare_verdicts(
    of: tuple[str, str], stored: ResultDecided, anew: ResultDecided, *, method_changed: bool
) -> FigureCheck:
    """A verdict by a method that has changed is compared no more than its figure is."""
    differing = [name for name in _DECIDED if _plain(stored, name) != _plain(anew, name)]
    if not differing:
        return FigureCheck(*of, VERDICT, Recomputed.SAME)
    if method_changed:
        return FigureCheck(*of, VERDICT, Recomputed.METHOD_CHANGED, "its figures are computed differently now")
    words = "; ".join(
        f"stored {name.replace('_', ' ')} {getattr(stored, name) or 'none'}, recomputed {getattr(anew, name) or 'none'}"
        for name in differing
    )
    return FigureCheck(*of, VERDICT, Recomputed.DIFFERS, words)


def _compare_points(run: Run, anew: PointsProved | None) -> FigureCheck:
    """What a wiring proof saw must come out the same point by point; its words may change from program to program."""
    stored = () if run.proved is None else tuple(_what_was_seen(point) for point in run.proved.points)
    seen = () if anew is None else tuple(_what_was_seen(point) for point in anew.points)
    differing = [str(number) for number, (one, other) in enumerate(zip_longest(stored, seen), start=1) if one != other]
    words = f"point {', '.join(differing)} of the proof comes out otherwise" if differing else ""
    found = Recomputed.DIFFERS if differing else Recomputed.SAME
    return FigureCheck(run.begun.run, run.begun.test, POINTS, found, words)


def _what_was_seen(point: PointSeen) -> PointSeen:
    return msgspec.structs.replace(point, words="")


def _plain(result: ResultDecided, name: str) -> str:
    """A field as it is stored: what is text in the record may be a word of a list in the program."""
    return str(msgspec.to_builtins(getattr(result, name)))


def _within_a_place(stored: Figure, anew: Figure) -> bool:
    """Whether value and uncertainty differ by one unit of the last stored place at most."""
    place = Decimal(1).scaleb(int(stored.uncertainty_decimal.as_tuple().exponent))
    return (
        abs(stored.decimal - anew.decimal) <= place
        and abs(stored.uncertainty_decimal - anew.uncertainty_decimal) <= place
        and stored.lower_bound_only == anew.lower_bound_only
    )

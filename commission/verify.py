"""
Is a job unaltered, signed, and do its figures recompute?

Three questions, answered apart: the chain (every event and chunk is as it was written), the signatures (a chain without
one proves neither its end nor its origin), and the figures (each procedure is started again, given the replies that the
record holds, and its figures and verdicts computed anew). Of each figure it says *same*, *same within rounding*,
*method changed*, *cannot recompute* or *differs*; only *differs* fails.
"""

from collections.abc import Iterator
from decimal import Decimal
from enum import StrEnum
from pathlib import Path

import msgspec

from commission.content import ContentError
from commission.figure import Figure, Verdict
from commission.job.motions import Run
from commission.job.playback import observed_of
from commission.job.state import Job, JobError, fold
from commission.procedures.catalogue import CATALOGUE
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


class FigureCheck(msgspec.Struct, frozen=True):
    """One figure of one run, recomputed."""

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

        figures: Every stored figure, recomputed.

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
    except (RecordError, JobError, ContentError, ValueError, LookupError, msgspec.MsgspecError) as error:
        if chain.intact:
            return JobCheck(chain, signed=False, figures=(), trouble=f"the events make no job: {error}")
        return JobCheck(
            chain, signed=False, figures=(), trouble=f"not recomputed, because the record is altered: {error}"
        )
    return JobCheck(chain, signed=False, figures=figures)


def check_run(job: Job, run: Run, events: tuple[Event, ...], reader: Reader) -> Iterator[FigureCheck]:
    """Every stored figure and verdict of one run, recomputed from what the record holds."""
    if not run.figures:
        return
    begun = run.begun
    try:
        computed = _compute(job, run, events, reader)
    except (CannotReplay, RecordError, ValueError, LookupError) as error:
        for figure in run.figures:
            yield FigureCheck(begun.run, begun.test, figure.name, Recomputed.CANNOT, str(error))
        return
    verdicts = {result.figure: result.verdict for result in run.results}
    for stored in run.figures:
        anew = next((figure for figure in computed if figure.name == stored.name), None)
        yield _compare(job, run, stored, anew, computed, verdicts.get(stored.name))
    for extra in computed:
        if run.figure(extra.name) is None:
            yield FigureCheck(begun.run, begun.test, extra.name, Recomputed.DIFFERS, "it is not in the record")


def _compute(job: Job, run: Run, events: tuple[Event, ...], reader: Reader) -> tuple[Figure, ...]:
    observed = observed_of(job, run, events, reader)
    return CATALOGUE[run.begun.procedure].figures(observed, job.sheet)


def _compare(
    job: Job,
    run: Run,
    stored: Figure,
    anew: Figure | None,
    computed: tuple[Figure, ...],
    verdict: str | None,
) -> FigureCheck:
    begun = run.begun

    def found(recomputed: Recomputed, words: str = "") -> FigureCheck:
        return FigureCheck(begun.run, begun.test, stored.name, recomputed, words)

    if anew is None:
        return found(Recomputed.DIFFERS, "it does not come out any more")
    if anew.method != stored.method:
        return found(Recomputed.METHOD_CHANGED, f"stored by {stored.method}, this program has {anew.method}")
    if verdict is not None:
        judged = CATALOGUE[begun.procedure].judge(computed, job.sheet, begun.arguments)
        if judged is None or judged.decision.verdict != Verdict(verdict):
            now = "none" if judged is None else judged.decision.verdict
            return found(Recomputed.DIFFERS, f"stored verdict {verdict}, recomputed {now}")
    same_texts = (anew.value, anew.expanded_uncertainty) == (stored.value, stored.expanded_uncertainty)
    if same_texts and anew.lower_bound_only == stored.lower_bound_only and anew.note == stored.note:
        return found(Recomputed.SAME)
    words = (
        f"stored {stored.value} ± {stored.expanded_uncertainty}, recomputed {anew.value} ± {anew.expanded_uncertainty}"
    )
    return found(Recomputed.WITHIN_ROUNDING if _within_a_place(stored, anew) else Recomputed.DIFFERS, words)


def _within_a_place(stored: Figure, anew: Figure) -> bool:
    """Whether value and uncertainty differ by one unit of the last stored place at most."""
    place = Decimal(1).scaleb(int(stored.uncertainty_decimal.as_tuple().exponent))
    return (
        abs(stored.decimal - anew.decimal) <= place
        and abs(stored.uncertainty_decimal - anew.uncertainty_decimal) <= place
        and stored.lower_bound_only == anew.lower_bound_only
    )

"""Fold: runs of procedures, what was sent in them, how they ended, what came out."""

from collections.abc import Mapping

import msgspec

from commission.figure import Figure
from commission.job.bodies import (
    CommandSent,
    FiguresComputed,
    GapSeen,
    GuardTripped,
    MotionBegun,
    MotionEnded,
    Noted,
    PointsProved,
    ResultDecided,
    SamplesStored,
    SessionStarted,
)
from commission.job.fold import Happened

INTERRUPTED = "interrupted"
"""How a run ended that was open when the program started again; what is found out later may still be added."""


class Run(msgspec.Struct, frozen=True, kw_only=True):
    """One run of a procedure. `ended` is None while it is open: after a crash, "these may have been sent"."""

    begun: MotionBegun
    by: str
    at_utc: str
    n: int
    sent: tuple[CommandSent, ...] = ()
    chunks: tuple[SamplesStored, ...] = ()
    gaps: tuple[GapSeen, ...] = ()
    notes: tuple[str, ...] = ()
    tripped: GuardTripped | None = None
    ended: MotionEnded | None = None
    figures: tuple[Figure, ...] = ()
    timed_by: str = ""
    commanded_by: str = ""
    results: tuple[ResultDecided, ...] = ()
    proved: PointsProved | None = None
    voided_by: str = ""

    def figure(self, name: str) -> Figure | None:
        """The figure of this name, or None."""
        return next((figure for figure in self.figures if figure.name == name), None)


def fold_runs(runs: Mapping[str, Run], seen: Happened) -> Mapping[str, Run]:
    """
    The runs by id, after one more event. Samples and commands outside a run (`run` is empty) belong to none.

    Raises:
        ValueError: a run begins while another is open or under a name that is taken, or ends twice.

        KeyError: there is no such run.
    """
    event, body = seen.event, seen.body
    match body:
        case MotionBegun():
            _check_begin(runs, body)
            return {**runs, body.run: Run(begun=body, by=event.by, at_utc=event.at_utc, n=event.n)}
        case SessionStarted():
            return {name: _interrupted(run) for name, run in runs.items()}
        case CommandSent() | SamplesStored() | GapSeen() if not body.run:
            return runs
        case CommandSent() | SamplesStored() | GapSeen() | GuardTripped() | MotionEnded() | Noted():
            return _changed(runs, body.run, body)
        case FiguresComputed() | ResultDecided() | PointsProved():
            return _changed(runs, body.run, body)
    return runs


def open_run(runs: Mapping[str, Run]) -> Run | None:
    """The run that has begun and not ended, if any: there is one at most."""
    return next((run for run in runs.values() if run.ended is None), None)


def _check_begin(runs: Mapping[str, Run], body: MotionBegun) -> None:
    if body.run in runs:
        raise ValueError(f"run {body.run} has begun before")
    other = open_run(runs)
    if other is not None:
        raise ValueError(f"run {other.begun.run} is still open; one motion at a time")


def _interrupted(run: Run) -> Run:
    if run.ended is not None:
        return run
    commands = ", ".join(sorted(run.begun.commands))
    sent = f"the program ended in mid-stroke; these may have been sent: {commands}"
    ended = MotionEnded(
        run=run.begun.run,
        how=INTERRUPTED,
        reason=sent if commands else "the program ended meanwhile; nothing was to be commanded",
        safe_end="unconfirmed" if commands else "not needed",
    )
    return msgspec.structs.replace(run, ended=ended)


def _changed(runs: Mapping[str, Run], name: str, body: object) -> Mapping[str, Run]:
    run = runs[name]
    replace = msgspec.structs.replace
    match body:
        case CommandSent():
            run = replace(run, sent=(*run.sent, body))
        case SamplesStored():
            run = replace(run, chunks=(*run.chunks, body))
        case GapSeen():
            run = replace(run, gaps=(*run.gaps, body))
        case GuardTripped():
            run = replace(run, tripped=body)
        case MotionEnded():
            if run.ended is not None and run.ended.how != INTERRUPTED:
                raise ValueError(f"run {name} has ended before")
            run = replace(run, ended=body)
        case Noted():
            run = replace(run, notes=(*run.notes, body.mark))
        case FiguresComputed():
            run = replace(run, figures=body.figures, timed_by=body.timed_by, commanded_by=body.commanded_by)
        case ResultDecided():
            run = replace(run, results=(*run.results, body))
        case PointsProved():
            run = replace(run, proved=body)
    return {**runs, name: run}

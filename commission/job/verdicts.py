"""
What a run comes to: its figures, and the verdict with the rule and limits it was decided by.

A visit records what comes out of here; `verify` starts the procedure again from the record and compares.
"""

from collections.abc import Mapping

import msgspec

from commission.analysis.decision import Decision
from commission.figure import Verdict
from commission.job.bodies import FiguresComputed, PointsProved, ResultDecided
from commission.procedures.catalogue import CATALOGUE, Judged
from commission.sheet import Sheet

_UNMEASURED = {"no test": Verdict.NO_TEST, "stopped": Verdict.STOPPED, "aborted": Verdict.STOPPED}


_SEEN = {True: Verdict.PASS, False: Verdict.FAIL, None: Verdict.NO_TEST}


class RunMade(msgspec.Struct, frozen=True, kw_only=True):
    """
    A run that is over.

    Args:
        run: Its id.

        step: Id of its step.

        test: Names it.

        procedure: Which procedure of the catalogue.

        arguments: The procedure's arguments.

        how: finished, no test, aborted or stopped.

        reason: In words.

        guard: Name of the guard that tripped; empty where none did.
    """

    run: str
    step: str
    test: str
    procedure: str
    arguments: Mapping[str, str]
    how: str
    reason: str = ""
    guard: str = ""


def verdict_of(made: RunMade, observed: object, sheet: Sheet) -> tuple[FiguresComputed | None, ResultDecided]:
    """
    Figures and verdict of a run.

    Args:
        made: The run.

        observed: What its procedure returned; None unless it finished.

        sheet: The unit's sheet, for the limits.

    Returns:
        None for the figures where there are none; the verdict then says why.

    Raises:
        LookupError: this program has no such procedure.
    """
    result = ResultDecided(
        run=made.run,
        step=made.step,
        test=made.test,
        figure="",
        verdict=_UNMEASURED.get(made.how, Verdict.STOPPED),
        rule=made.reason,
        limit_low="",
        limit_high="",
        origin="",
    )
    test = CATALOGUE[made.procedure]
    if observed is None:
        if made.how == "aborted" and made.guard in test.failing_guards:
            result = msgspec.structs.replace(result, verdict=Verdict.FAIL, rule=f"aborted: {made.reason}")
        return None, result
    if test.seen is not None:
        passed, words = test.seen(observed)
        return None, msgspec.structs.replace(result, verdict=_SEEN[passed], rule=words)
    try:
        figures = test.figures(observed, sheet)
    except test.no_figures as reason:
        return None, msgspec.structs.replace(result, verdict=Verdict.NO_TEST, rule=str(reason))
    judged = test.judge(figures, sheet, made.arguments)
    timed_by = getattr(observed, "timed_by", "")
    computed = FiguresComputed(
        run=made.run,
        figures=figures,
        timed_by=timed_by if judged is None else f"{timed_by}, {judged.spans}",
        commanded_by=getattr(observed, "commanded_by", test.commanded_by),
    )
    found = () if test.faults is None else test.faults(observed, sheet)
    return computed, _with_faults(_decided(judged, result, getattr(observed, "why", "")), found)


def points_of(made: RunMade, observed: object) -> PointsProved | None:
    """
    What a wiring proof saw of each point; None for any other run, for one that proved none or did not finish.

    Raises:
        LookupError: this program has no such procedure.
    """
    points = CATALOGUE[made.procedure].points
    if points is None or observed is None:
        return None
    seen = points(observed)
    if not seen.points:
        return None
    return PointsProved(run=made.run, points=seen.points, not_forced=seen.not_forced)


def _decided(judged: Judged | None, result: ResultDecided, why: str) -> ResultDecided:
    if judged is None:
        words = f"the figure that the limit means was not seen{f': {why}' if why else ''}"
        return msgspec.structs.replace(result, verdict=Verdict.NOT_DECIDED, rule=words)
    named = msgspec.structs.replace(
        result, figure=judged.figure.name, origin=judged.origin, compared=judged.compared
    )  # fmt: skip
    return with_decision(named, judged.decision)


def _with_faults(result: ResultDecided, faults: tuple[str, ...]) -> ResultDecided:
    """A fault that was seen fails the run, whatever its figure says."""
    if not faults:
        return result
    return msgspec.structs.replace(result, verdict=Verdict.FAIL, rule=f"failed: {'; '.join(faults)}")


def with_decision(result: ResultDecided, decision: Decision) -> ResultDecided:
    """The result with what a decision says of its figure."""
    return msgspec.structs.replace(
        result,
        verdict=decision.verdict,
        rule=decision.rule_text,
        limit_low=decision.limit_low or "",
        limit_high=decision.limit_high or "",
        settles=decision.settles,
        simple=decision.simple,
        outside_pct="" if decision.outside_probability is None else f"{100 * decision.outside_probability:.2g}",
        ratio="" if decision.ratio is None else f"{decision.ratio:.2g}",
    )

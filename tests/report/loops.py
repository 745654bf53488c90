"""Jobs in which a 4–20 mA loop was read: made of the figures that the analysis gives."""

from commission.analysis.decision import decide
from commission.analysis.span import SpanObserved, loop_of, span_figures
from commission.figure import Verdict
from commission.job import bodies
from commission.procedures.span_plan import span_plan
from tests.analysis.spans import FCV_2204_MA, POINTS, observed
from tests.report.jobs import _PLAN, RULE, Visit

NOT_TESTED = "points on the way down not tested: closing takes 8 s by the sheet"


def read_loop(visit: Visit, run: str, seen: SpanObserved, *, not_tested: str = "", signal: str = "feedback") -> Visit:
    """One run of a span with its figures and verdict."""
    visit.add(
        bodies.MotionBegun(
            run=run,
            step="K1-open",
            procedure="span",
            arguments={"signal": signal, "moved_by": "laptop", "test": f"M1 {run}"},
            test=f"M1 {run}",
            commands={"command_open": 1, "command_stop": 1},
            safe_end="stop",
            guards=(),
            plan=_PLAN,
        )
    )
    if not_tested:
        visit.add(bodies.Noted(run=run, mark=not_tested), by="program")
    sheet = visit.job.sheet
    figures = span_figures(seen, sheet)
    decision = decide(figures[0], span_plan(sheet, {}).limits)
    return visit.add(
        bodies.MotionEnded(run=run, how="finished", reason="", safe_end="not needed"),
        bodies.FiguresComputed(run=run, figures=figures, timed_by=seen.timed_by, commanded_by=seen.commanded_by),
        bodies.ResultDecided(
            run=run,
            step="K1-open",
            test=f"M1 {run}",
            figure=figures[0].name,
            verdict=decision.verdict,
            rule=RULE,
            limit_low=decision.limit_low or "",
            limit_high=decision.limit_high or "",
            origin=loop_of(sheet, seen.signal).origin,
        ),
        by="program",
    )


def planted() -> SpanObserved:
    """FCV-2204's feedback as it was found, read up and back."""
    by_point = dict(zip(POINTS, FCV_2204_MA, strict=True))
    return observed(lambda point, up, _cycle: by_point[point] + (0.0 if up else 0.02), up_down=(True, False))


def trimmed() -> SpanObserved:
    """The same after zero and span were trimmed."""
    by_point = dict(zip(POINTS, (4.0, 8.02, 12.03, 16.01, 19.98), strict=True))
    return observed(lambda point, up, _cycle: by_point[point] + (0.0 if up else 0.02), up_down=(True, False))


def adjusted_visit() -> Visit:
    """A loop that failed as found, was trimmed, and passes as left."""
    visit = Visit().people().connect()
    read_loop(visit, "s1", planted(), not_tested=NOT_TESTED)
    read_loop(visit, "s2", trimmed(), not_tested=NOT_TESTED)
    assert [run.results[0].verdict for run in visit.job.runs.values()] == [Verdict.FAIL, Verdict.PASS]
    return visit

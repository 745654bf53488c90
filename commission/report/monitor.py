"""
The pressure monitor as the report shows it: each test with its figure, limits and verdict; the transmitter point by
point; the proofs that a trip stays tripped and what its loop's faults do, each with what was seen.
"""

import re
from collections.abc import Iterator

from commission.analysis.wiring import PointSeen
from commission.figure import Figure, Verdict
from commission.job import state
from commission.job.motions import Run
from commission.report.display import clock_text, date_text, figure_name, shown, shown_limit
from commission.report.figures import run_name
from commission.report.table import Row, Table

MEASURES = ("trip_found", "monitor_points", "trip_delay", "trip_point", "monitor_back")
PROOFS = ("trip_latch", "monitor_loop")
"""Procedures whose runs stand here and nowhere else in the report."""

MONITOR = "pressure monitor"
"""What these runs are, where runs are sorted by what they are."""

_POINT = re.compile(r"monitor_error_(?P<side>up|down)_(?P<point>[\d.]+)_pct")


def is_monitor(run: Run) -> bool:
    """Whether a run belongs to the pressure monitor's tables."""
    return run.begun.procedure in (*MEASURES, *PROOFS)


def trips(job: state.Job, rules: tuple[str, ...]) -> Table:
    """
    Every measurement with its verdict, in the order made; a failure stays in sight after it was put right.

    Args:
        job: As folded.

        rules: Decision rules; verdicts name them by number.
    """
    day = date_text(job.begun_utc)
    rows = tuple(_row(run, rules, day) for run in _runs(job, MEASURES))
    columns = ("run", "at", "what", "measured (95 %)", "limit", "verdict", "remarks")
    notes = tuple(dict.fromkeys(f"{run.timed_by[:1].upper()}{run.timed_by[1:]}." for run in _timed(job)))
    return Table(title="Pressure monitor", columns=columns, rows=rows, empty="not tested", notes=notes)


def transmitter(job: state.Job) -> Table:
    """The monitor's error at each point up and down, in the last run of it that stands."""
    read = [run for run in _runs(job, ("monitor_points",)) if run.figures]
    standing = [run for run in read if not run.voided_by] or read
    if not standing:
        return Table(title="Monitor against the gauge, % of range", columns=("point", "up", "down"))
    by_point: dict[str, dict[str, Figure]] = {}
    for figure in standing[-1].figures:
        if found := _POINT.fullmatch(figure.name):
            by_point.setdefault(found["point"], {})[found["side"]] = figure
    rows = tuple(
        (f"{point} %", *(str(shown(sides[side])) if side in sides else "not read" for side in ("up", "down")))
        for point, sides in by_point.items()
    )
    return Table(title="Monitor against the gauge, % of range", columns=("point", "up", "down"), rows=rows)


def proofs(job: state.Job) -> Table:
    """What a trip withstands, and what its transmitter's loop faults do."""
    rows = tuple(
        (f"{run.begun.step}{' VOID' if run.voided_by else ''}", point.forced, point.seen, _finding(point))
        for run in _runs(job, PROOFS)
        for point in (() if run.proved is None else run.proved.points)
    )
    return Table(title="The trip's latch and its loop", columns=("step", "forced", "seen", "finding"), rows=rows)


def noted(job: state.Job) -> tuple[str, ...]:
    """What page one has to say: a trip or a delay that failed as it was found, whatever was put right since."""
    lines = []
    for run in _runs(job, MEASURES):
        for result in run.results:
            figure = run.figure(result.figure)
            if result.verdict == Verdict.FAIL and figure is not None:
                limits = _limits(result.limit_low, result.limit_high, figure)
                what = f"{_which(run)}{figure_name(figure.name)}"
                lines.append(f"as-found failure, {what}: {shown(figure)} against {limits} (run {run_name(run)})")
    return tuple(lines)


def _runs(job: state.Job, procedures: tuple[str, ...]) -> Iterator[Run]:
    ordered = sorted(job.runs.values(), key=lambda run: run.n)
    return (run for run in ordered if run.begun.procedure in procedures)


def _timed(job: state.Job) -> Iterator[Run]:
    return (run for run in _runs(job, MEASURES) if run.timed_by)


def _which(run: Run) -> str:
    side = run.begun.arguments.get("trip", "low" if run.begun.procedure == "trip_found" else "")
    return f"{side} trip, " if side else ""


def _row(run: Run, rules: tuple[str, ...], day: str) -> Row:
    result = run.results[-1] if run.results else None
    at = clock_text(run.at_utc, day)
    if result is None:
        return run_name(run), at, _which(run).rstrip(", "), "no figure", "none applied", "no verdict", ""
    figure = run.figure(result.figure)
    number = f" [{rules.index(result.rule) + 1}]" if result.figure and result.rule in rules else ""
    verdict = f"{Verdict.VOID} (was {result.verdict})" if run.voided_by else f"{result.verdict}{number}"
    what = f"{_which(run)}{'' if figure is None else figure_name(figure.name)}".rstrip(", ")
    remarks = "; ".join(
        part
        for part in (
            result.rule if figure is None else figure.note,
            run.voided_by and f"void: {run.voided_by}",
            result.settles and f"would settle it: {result.settles}",
            _beside(run, result.figure),
        )
        if part
    )
    measured = "no figure" if figure is None else str(shown(figure))
    limits = "none applied" if figure is None else _limits(result.limit_low, result.limit_high, figure)
    return run_name(run), at, what, measured, limits, verdict, remarks


_SAID_BESIDE = (
    *("trip_delay", "pulse_time", "trip_point_1", "trip_point_2", "trip_point_3", "trip_spread"),
    *("reading_at_trip", "monitor_hysteresis", "independent_gauge"),
)


def _beside(run: Run, judged: str) -> str:
    """What else was measured in the run, in a line."""
    found = [figure for name in _SAID_BESIDE if name != judged and (figure := run.figure(name)) is not None]
    return ", ".join(f"{figure_name(figure.name)} {shown(figure)}" for figure in found)


def _limits(low: str, high: str, figure: Figure) -> str:
    texts = [shown_limit(text, figure.name, figure.unit) for text in (low, high)]
    unit = shown(figure).unit
    if all(texts):
        return f"{' to '.join(texts)} {unit}".rstrip()
    return (f"at least {texts[0]}" if texts[0] else f"at most {texts[1]}") + f" {unit}".rstrip()


def _finding(point: PointSeen) -> str:
    return f"{point.finding}. {point.words}" if point.words else str(point.finding)

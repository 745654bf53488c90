"""
The protections as the report shows them: caused how, really or simulated, at which limit, seen at the unit and in the
control room with its witness and both times, how it went again.
"""

from collections.abc import Iterator

from commission.analysis.wiring import PointSeen
from commission.figure import Verdict
from commission.job import state
from commission.job.motions import Run
from commission.job.steps import StepState
from commission.report.display import clock_text, date_text, shown, shown_limit
from commission.report.table import Row, Table

PROCEDURES = ("protection", "protection_timed", "alarm_contact")
"""Procedures whose runs stand here and nowhere else in the report."""

PROTECTION = "protections"
"""What these runs are, where runs are sorted by what they are."""


def is_protection(run: Run) -> bool:
    """Whether a run belongs to the protections' table."""
    return run.begun.procedure in PROCEDURES


def protections(job: state.Job) -> Table:
    """A row for each protection of each run, and for each state of the alarm contact, in the order made."""
    day = date_text(job.begun_utc)
    rows = tuple(_row(job, run, point, day) for run, point in _points(job))
    columns = ("step", "at", "what, and how caused", "measured (95 %), limit", "unit", "control room", "verdict")
    notes = (
        ("Simulated proves the wire and what follows, not the sensor. Times of the control room are its event log's.",)
        if rows
        else ()
    )
    return Table(title="Protections", columns=columns, rows=rows, empty="none was tested", notes=notes)


def _points(job: state.Job) -> Iterator[tuple[Run, PointSeen]]:
    for run in sorted(job.runs.values(), key=lambda run: run.n):
        if is_protection(run) and run.proved is not None:
            yield from ((run, point) for point in run.proved.points)


def _row(job: state.Job, run: Run, point: PointSeen, day: str) -> Row:
    room = ", ".join(part for part in (point.read_back, point.their_time, point.seen_by) if part)
    caused = _caused(job, run)
    return (
        f"{run.begun.step}{' VOID' if run.voided_by else ''}",
        clock_text(run.at_utc, day),
        f"{point.forced}{f' ({caused})' if caused else ''}",
        _measured(run),
        point.seen,
        room or "not asked",
        _verdict(run, point),
    )


def _caused(job: state.Job, run: Run) -> str:
    """What was answered to how it is caused, and whether a limit was lowered for it (safety rule R23)."""
    attempt = job.steps.get(run.begun.step, StepState()).last
    if attempt is None:
        return ""
    try:
        step = job.checklist.step(run.begun.step)
    except KeyError:
        return ""
    words = []
    for question in step.questions:
        given = attempt.answers.get(question.id)
        if given is None or question.effect not in ("how caused", "lowered limit"):
            continue
        text = given.answered.text
        if question.effect == "how caused":
            words.append(text if given.answered.verdict != Verdict.SIMULATED else f"simulated: {text}")
        elif text.strip().lower() not in ("none", "no"):
            words.append(f"limit lowered: {text}")
    return "; ".join(words)


def _measured(run: Run) -> str:
    result = run.results[-1] if run.results else None
    figure = None if result is None else run.figure(result.figure)
    if run.begun.procedure == "alarm_contact":
        return "volts"
    if result is None or figure is None:
        return "acts at once"
    low, high = (shown_limit(text, figure.name, figure.unit) for text in (result.limit_low, result.limit_high))
    limit = low if low == high else f"{low} to {high}"
    note = f"; {figure.note}" if figure.note else ""
    return f"{shown(figure)}, limit {limit} {shown(figure).unit}{note}".replace("  ", " ")


def _verdict(run: Run, point: PointSeen) -> str:
    if run.begun.procedure == "alarm_contact":
        found = str(point.finding)
    else:
        found = str(run.results[-1].verdict) if run.results else "no verdict"
    verdict = f"{Verdict.VOID} (was {found})" if run.voided_by else found
    return f"{verdict}. {point.words}" if point.words else verdict

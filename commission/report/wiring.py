"""
The tables of the wiring proof: each input and value with what was seen of it, and point-to-point with the control room:
forced how, shown by the unit when, read by whom, at what time of theirs.
"""

from collections.abc import Iterator

from commission.analysis.wiring import PointSeen, name_of_role
from commission.job import state
from commission.job.motions import Run
from commission.report.monitor import is_monitor
from commission.report.protections import is_protection
from commission.report.table import Row, Table

NOT_SEEN = "not asked"


def wiring(job: state.Job) -> Table:
    """Inputs and values, in the order in which they were forced; what was forced again stands with what came before."""
    rows = tuple(_row(run, point) for run, point in _points(job) if not point.read_back)
    return Table(
        title="Inputs and register map",
        columns=("step", "forced or read", "the unit showed", "finding"),
        rows=rows,
        notes=tuple(_notes(job, to_room=False)) if rows else (),
    )


def point_to_point(job: state.Job) -> Table:
    """Each signal to the control room, with both times; what was read again stands with what came before."""
    rows = tuple(
        (
            _step(run),
            point.forced,
            point.seen,
            point.read_back,
            point.their_time or NOT_SEEN,
            point.seen_by,
            _finding(point),
        )
        for run, point in _points(job)
        if point.read_back
    )
    columns = ("step", "forced", "the unit showed", "control room read", "their time", "read by", "finding")
    notes = tuple(_notes(job, to_room=True)) if rows else ()
    return Table(title="Point-to-point with the control room", columns=columns, rows=rows, notes=notes)


def _is_elsewhere(run: Run) -> bool:
    """Whether what it proved stands in a table of its own."""
    return is_monitor(run) or is_protection(run)


def _points(job: state.Job) -> Iterator[tuple[Run, PointSeen]]:
    for run in job.runs.values():
        for point in () if run.proved is None or _is_elsewhere(run) else run.proved.points:
            yield run, point


def _row(run: Run, point: PointSeen) -> Row:
    return _step(run), point.forced, point.seen, _finding(point)


def _step(run: Run) -> str:
    return f"{run.begun.step}{' VOID' if run.voided_by else ''}"


def _finding(point: PointSeen) -> str:
    after = " (forced again after this)" if point.again else ""
    return f"{point.finding}{after}" + (f". {point.words}" if point.words else "")


def _notes(job: state.Job, *, to_room: bool) -> Iterator[str]:
    """What the sheet would have to say, and what was not forced with where it is proved; each once."""
    lines: dict[str, None] = {}
    left: dict[str, None] = {}
    for run in job.runs.values():
        if (
            run.proved is None
            or _is_elsewhere(run)
            or any(point.read_back for point in run.proved.points) is not to_room
        ):
            continue
        lines.update(dict.fromkeys(line for point in run.proved.points for line in point.correction))
        left.update(dict.fromkeys(run.proved.not_forced))
    if to_room:
        yield "Times of the unit are the laptop's UTC; theirs are their event log's, compared through the clock offset."
    if lines:
        yield f"Lines that would put the sheet right, for its owner to accept: {'; '.join(lines)}."
    forced = {name_of_role(point.role) for _, point in _points(job) if point.role}
    elsewhere = [words for words in left if words.partition(":")[0] not in forced]
    if elsewhere:
        yield f"Not forced here: {'; '.join(elsewhere)}."

"""
The job for other programs: one JSON object with every fact and figure, or a folder of CSV files.

Units stand in the names of the columns, or in a column of their own where each row has its own. Figures appear twice:
as stored (SI, decimal text) and as printed, so that nobody has to convert and nothing can differ from the report.
"""

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import msgspec

from commission.clock import NS_PER_S
from commission.figure import Figure
from commission.job import state
from commission.job.motions import Run
from commission.job.sequence import numbered
from commission.report.display import number_in, shown, shown_limit
from commission.report.strokes import direction_of
from commission.report.trace import Trace

FORMAT = 1
"""Version of the JSON object; a later one adds fields and takes none away."""

_RESULTS = (
    "run", "step", "test", "figure", "value", "expanded_uncertainty_95pct", "unit", "limit_low", "limit_high",
    "at_least_only", "verdict", "void_because", "settles", "rule", "origin", "timed_by", "commanded_by",
    "value_si", "expanded_uncertainty_si", "unit_si",
)  # fmt: skip
_STROKES = (
    "run", "direction", "test", "step", "as_found", "begun_utc", "by", "ended", "reason", "safe_end", "aborted_by",
    "void_because", "timed_by", "commanded_by", "figure", "value", "expanded_uncertainty_95pct", "unit",
    "at_least_only", "note", "method", "value_si", "expanded_uncertainty_si", "unit_si",
)  # fmt: skip
_ENERGY = ("at_utc", "from", "to", "by", "people_count", "locks_count", "reason", "facts_count")
_ANSWERS = (
    "step", "attempt", "question", "text", "value", "unit", "verdict", "from_file", "by", "at_utc", "void_because",
)  # fmt: skip
_DEVIATIONS = (
    "id", "class", "step", "required", "found", "risk", "owner", "due", "by", "at_utc", "accepted_by",
    "accepted_reason",
)  # fmt: skip
_SEQUENCE = (
    "number", "at_utc", "half_width_s", "what", "source", "role", "run", "order_not_decided_with", "session",
    "after_ns", "by_ns",
)  # fmt: skip
_TRACE = ("time_s", "travel_pct", "pressure_bar", "motor_current_A")

Row = Sequence[object]


def as_json(job: state.Job, traces: Mapping[str, Trace] | None = None) -> dict[str, Any]:
    """
    Everything folded, as plain data ready for JSON.

    Args:
        job: As folded.

        traces: Curves to add, by run id; none by default, because the record holds the samples they came from.
    """
    data: dict[str, Any] = msgspec.to_builtins(job)
    facts = {name: data[name] for name in data if name not in ("sheet", "checklist", "sequence")}
    return {
        "format": FORMAT,
        "practice": job.practice,
        "tag": job.tag,
        **facts,
        "results": [dict(zip(_RESULTS, row, strict=True)) for row in _result_rows(job)],
        "sequence": [dict(zip(_SEQUENCE, row, strict=True)) for row in _sequence_rows(job)],
        "traces": {name: msgspec.to_builtins(trace) for name, trace in (traces or {}).items()},
    }


def as_csv(job: state.Job, traces: Mapping[str, Trace], folder: Path) -> tuple[Path, ...]:
    """
    The job as CSV files in a folder (UTF-8, comma, point as decimal mark; RFC 4180).

    Returns:
        The files written: results, strokes, energy, answers, deviations, sequence, and one trace a run.

    Raises:
        OSError: the folder cannot be made or written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    tables: dict[str, tuple[Row, Iterable[Row]]] = {
        "results": (_RESULTS, _result_rows(job)),
        "strokes": (_STROKES, _stroke_rows(job)),
        "energy": (_ENERGY, _energy_rows(job)),
        "answers": (_ANSWERS, _answer_rows(job)),
        "deviations": (_DEVIATIONS, _deviation_rows(job)),
        "sequence": (_SEQUENCE, _sequence_rows(job)),
        **{f"trace_{_file_part(name)}": (_TRACE, _trace_rows(trace)) for name, trace in traces.items()},
    }
    return tuple(_written(folder / f"{name}.csv", columns, rows) for name, (columns, rows) in tables.items())


def _written(path: Path, columns: Row, rows: Iterable[Row]) -> Path:
    with path.open("w", encoding="utf-8", newline="", errors="backslashreplace") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows([_cell(value) for value in row] for row in rows)
    return path


def _cell(value: object) -> object:
    """
    A value safe to open in a spreadsheet: text that would be taken for a formula gets an apostrophe before it.

    Numbers keep their sign: only text that is no number is changed.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r") and not _is_number(value):
        return f"'{value}"
    return value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _file_part(run: str) -> str:
    return "".join(character if character.isalnum() or character in "-_" else "_" for character in run)


def _ordered(job: state.Job) -> list[Run]:
    return sorted(job.runs.values(), key=lambda run: run.n)


def _figure_cells(figure: Figure | None) -> tuple[str, str, str]:
    if figure is None:
        return ("", "", "")
    printed = shown(figure)
    return (printed.value, printed.uncertainty, printed.unit)


def _si_cells(figure: Figure | None) -> tuple[str, str, str]:
    return ("", "", "") if figure is None else (figure.value, figure.expanded_uncertainty, figure.unit)


def _result_rows(job: state.Job) -> list[Row]:
    rows: list[Row] = []
    for run in _ordered(job):
        for result in run.results:
            figure = run.figure(result.figure)
            unit = "" if figure is None else figure.unit
            limits = (shown_limit(text, result.figure, unit) for text in (result.limit_low, result.limit_high))
            rows.append(
                (
                    *(run.begun.run, result.step, result.test, result.figure),
                    *_figure_cells(figure),
                    *limits,
                    figure is not None and figure.lower_bound_only,
                    *(result.verdict, run.voided_by, result.settles, result.rule, result.origin),
                    *(run.timed_by, run.commanded_by),
                    *_si_cells(figure),
                )
            )
    for series in job.compared:
        for result in series.results:
            figure = series.figure(result.figure)
            unit = "" if figure is None else figure.unit
            limits = (shown_limit(text, result.figure, unit) for text in (result.limit_low, result.limit_high))
            named = ("", result.step, result.test, result.figure)
            judged = (False, result.verdict, "", result.settles, result.rule, result.origin, "", "")
            rows.append((*named, *_figure_cells(figure), *limits, *judged, *_si_cells(figure)))
    return rows


def _stroke_rows(job: state.Job) -> list[Row]:
    return [_stroke_row(run, figure) for run in _ordered(job) for figure in (run.figures or (None,))]


def _stroke_row(run: Run, figure: Figure | None) -> Row:
    begun, ended = run.begun, run.ended
    return (
        *(begun.run, direction_of(run), begun.test, begun.step, begun.as_found, run.at_utc, run.by),
        *(("open", "", "") if ended is None else (ended.how, ended.reason, ended.safe_end)),
        "" if run.tripped is None else run.tripped.guard,
        *(run.voided_by, run.timed_by, run.commanded_by),
        "" if figure is None else figure.name,
        *_figure_cells(figure),
        figure is not None and figure.lower_bound_only,
        *(("", "") if figure is None else (figure.note, figure.method)),
        *_si_cells(figure),
    )


def _energy_rows(job: state.Job) -> list[Row]:
    return [
        (
            *(entry.at_utc, entry.source.value, entry.target.value, entry.by),
            "" if entry.people is None else entry.people,
            *(entry.locks, entry.reason, len(entry.facts)),
        )
        for entry in job.energy_log.crossed
    ]


def _answer_rows(job: state.Job) -> list[Row]:
    return [
        (
            *(name, number, question, given.answered.text),
            "" if given.answered.value is None else given.answered.value,
            *(given.answered.unit, given.answered.verdict, given.answered.from_file, given.by, given.at_utc),
            attempt.voided_by,
        )
        for name, steps in job.steps.items()
        for number, attempt in enumerate(steps.attempts, start=1)
        for question, given in attempt.answers.items()
    ]


def _deviation_rows(job: state.Job) -> list[Row]:
    return [
        (
            *(item.raised.id, item.raised.classed, item.raised.step, item.raised.required, item.raised.found),
            *(item.raised.risk, item.raised.owner, item.raised.due, item.by, item.at_utc, item.accepted_by),
            "" if item.accepted is None else item.accepted.reason,
        )
        for item in job.deviations.values()
    ]


def _sequence_rows(job: state.Job) -> list[Row]:
    return [
        (
            *(item.number, item.happening.at_utc, item.happening.span.half_width_ns / NS_PER_S),
            *(item.happening.words, item.happening.source, item.happening.role, item.happening.run),
            " ".join(str(number) for number in item.undecided),
            *(item.happening.session, item.happening.span.after_ns, item.happening.span.by_ns),
        )
        for item in numbered(job.sequence)
    ]


def _trace_rows(trace: Trace) -> Iterable[Row]:
    for number, time_s in enumerate(trace.time_s):
        yield (
            time_s,
            number_in(trace.travel[number], "1", "%") if trace.travel else "",
            number_in(trace.pressure_pa[number], "Pa", "bar") if trace.pressure_pa else "",
            trace.current_a[number] if trace.current_a else "",
        )

"""
Runs as the report shows them: by direction, limits beside the value and its uncertainty, the first and the last marked.

Every run is shown, also one that was stopped, interrupted or made void (safety rules R19 to R21). A pass in a direction
whose stem nobody looked at says so (R20).
"""

from collections.abc import Mapping, Sequence

import msgspec

from commission.analysis.baseline import is_rested
from commission.checklist.model import BRING_BACK
from commission.engineering.beside import CONDITIONS, beside_stroke, computed_in_words
from commission.figure import Figure, Verdict
from commission.job import state
from commission.job.bodies import ResultDecided
from commission.job.motions import Run
from commission.procedures.span_plan import SPAN
from commission.report.display import MEASURED_AS, clock_text, date_text, figure_name, shown, shown_limit
from commission.report.figures import all_figures, brief_figures, run_name
from commission.report.monitor import MONITOR, is_monitor
from commission.report.partial import PROCEDURE, noted_partial
from commission.report.protections import PROTECTION, is_protection
from commission.report.spans import is_span
from commission.report.table import Row, Table
from commission.sheet import End, Sheet

OPENING, CLOSING, PARTIAL = "opening", "closing", "partial stroke"
FAIL_SAFE, OTHER = "fail-safe strokes", "other runs"
DIRECTIONS = (OPENING, CLOSING, PARTIAL, FAIL_SAFE, OTHER)
"""Headings under which runs are shown, in order."""

NOT_OBSERVED = "at the actuator; valve not observed"
"""What is added to a pass where the stem was not looked at (safety rule R20)."""

_WORDS = {
    "open": OPENING,
    "opening": OPENING,
    "close": CLOSING,
    "closed": CLOSING,
    "closing": CLOSING,
    "partial": PARTIAL,
}
_COLUMNS = (
    "run", "at", "expected", "limit", "measured (95 %)", "verdict", "timed by", "commanded by", "remarks",
)  # fmt: skip
_SOMETIMES = ("expected", "limit", "measured (95 %)", "timed by", "remarks")
"""Columns that are left out where they say nothing in any row."""

_HEADINGS = {OTHER: "Other runs", FAIL_SAFE: "Fail-safe strokes, caused by people and watched"}
_CAUSED_ELSEWHERE = ("fail_safe", "brought")
_TOWARDS = {OPENING: End.OPEN, CLOSING: End.CLOSED}
_NOTHING = ("", "no limit", "none applied", "no figure", "not timed")
_PASSES = (Verdict.PASS, Verdict.PASS_AFTER_ADJUSTMENT, Verdict.PASS_WATCH)


class Strokes(msgspec.Struct, frozen=True, kw_only=True):
    """
    All runs in one direction.

    Args:
        direction: One of `DIRECTIONS`.

        heading: What stands over them.

        expected: What the sheet expects, and from which moment to which.

        observed: Whether and where the stem was looked at.

        judged: Every run with its verdicts.

        figures: Figures that no limit applies to, one column a run.

        brief: Those of them that are printed on the pages; the others stand in text, CSV and JSON.

        runs: Ids of the runs, in order.
    """

    direction: str
    heading: str
    expected: str
    observed: str
    judged: Table
    figures: Table
    brief: Table
    runs: tuple[str, ...]


def direction_of(run: Run) -> str:
    """Where a run belongs, by its procedure's arguments, or by what it may command."""
    if is_span(run):
        return SPAN
    if run.begun.procedure in _CAUSED_ELSEWHERE:
        return FAIL_SAFE
    if is_monitor(run):
        return MONITOR
    if is_protection(run):
        return PROTECTION
    given = _WORDS.get(run.begun.arguments.get("direction", "").lower())
    if "partial" in run.begun.procedure:
        return PARTIAL
    if run.begun.procedure == BRING_BACK:
        return OTHER
    if given:
        return given
    commands = run.begun.commands.keys() & {"command_open", "command_close"}
    if len(commands) == 1:
        return OPENING if "command_open" in commands else CLOSING
    return OTHER


def by_direction(job: state.Job) -> Mapping[str, tuple[Run, ...]]:
    """The runs of each direction that has any, in the order they were made."""
    ordered = sorted(job.runs.values(), key=lambda run: run.n)
    found = {name: tuple(run for run in ordered if direction_of(run) == name) for name in DIRECTIONS}
    return {name: runs for name, runs in found.items() if runs}


def rules_of(job: state.Job) -> tuple[str, ...]:
    """Every decision rule used, once; verdicts refer to them by number."""
    ordered = sorted(job.runs.values(), key=lambda run: run.n)
    return tuple(dict.fromkeys(result.rule for run in ordered for result in run.results if result.figure))


def strokes(job: state.Job) -> tuple[Strokes, ...]:
    """The runs of a job as the report shows them."""
    rules = rules_of(job)
    return tuple(_strokes(job, direction, runs, rules) for direction, runs in by_direction(job).items())


def noted(job: state.Job) -> tuple[str, ...]:
    """
    What page one has to say of the runs: a failure found by the as-found stroke, also where it was put right since, and
    passes in a direction whose stem nobody looked at.
    """
    lines = []
    for direction, runs in by_direction(job).items():
        found = [(run, result) for run in runs for result in run.results]
        for run, result in found:
            figure = run.figure(result.figure)
            if run.begun.as_found and result.verdict == Verdict.FAIL and figure is not None:
                against = limits_text(result, figure)
                lines.append(f"as-found failure, {direction}: {shown(figure)} against {against} (run {run_name(run)})")
        passes = [result for run, result in found if not run.voided_by and result.verdict in list(_PASSES)]
        if passes and not is_observed(job, direction):
            lines.append(f"{direction}: pass {NOT_OBSERVED}")
    return (*noted_partial(job), *lines)


def marks(run: Run, runs: Sequence[Run]) -> str:
    """`as-found` or `first`, and `as-left`: what a run is among the runs of its direction."""
    found = []
    if run.begun.as_found:
        found.append("as-found")
    elif run is runs[0]:
        found.append("first")
    standing = [one for one in runs if not one.voided_by]
    if standing and run is standing[-1] and run.figures:
        found.append("as-left")
    return ", ".join(found)


def is_observed(job: state.Job, direction: str) -> bool:
    """Whether somebody named the stem mark at both ends, or a direction has no ends to look at (safety rule R20)."""
    if direction not in (OPENING, CLOSING):
        return True
    return any(
        _WORDS.get(look.direction) == direction and look.start_mark and look.end_mark
        for look in job.register.stem_looks
    )


def verdict_text(result: ResultDecided, run: Run, *, observed: bool) -> str:
    """The verdict of a result as it is printed."""
    if run.voided_by:
        return f"{Verdict.VOID} (was {result.verdict})"
    if not observed and result.verdict in list(_PASSES):
        return f"{result.verdict} {NOT_OBSERVED}"
    return result.verdict


def limits_text(result: ResultDecided, figure: Figure | None) -> str:
    """The limits of a result in the unit that its figure is printed in, as `6.0 to 10.0 s`."""
    unit = "" if figure is None else figure.unit
    low, high = (shown_limit(text, result.figure, unit) for text in (result.limit_low, result.limit_high))
    printed = "" if figure is None else shown(figure).unit
    words = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    return f"{words} {printed}".rstrip() if low or high else "no limit"


def beside_text(result: ResultDecided) -> str:
    """What stands beside a verdict for information: simple acceptance, the risk, and the test uncertainty ratio."""
    parts = [
        f"simple acceptance: {result.simple}" if result.simple else "",
        f"chance that the true value is outside: {_risk_text(result.outside_pct)}" if result.outside_pct else "",
        f"test uncertainty ratio {result.ratio}" if result.ratio else "",
    ]
    return "; ".join(part for part in parts if part)


def _risk_text(percent: str) -> str:
    risk = float(percent)
    return "below 0.001 %" if risk < 0.001 else f"{risk:.3f} %" if risk < 0.1 else f"{risk:.1f} %"


def ending_text(run: Run) -> str:
    """How a run ended, where it did not simply finish."""
    if run.ended is None:
        return "open: its end is not recorded, and what it may command may have been sent"
    parts = []
    if run.ended.how != "finished":
        parts.append(f"{run.ended.how}: {run.ended.reason}".rstrip(": "))
    if run.ended.safe_end not in ("not needed", "confirmed"):
        parts.append(f"safe end {run.ended.safe_end}")
    return "; ".join(parts)


def _strokes(job: state.Job, direction: str, runs: tuple[Run, ...], rules: tuple[str, ...]) -> Strokes:
    observed = is_observed(job, direction)
    day = date_text(job.begun_utc)
    origins = tuple(dict.fromkeys(result.origin for run in runs for result in run.results if result.origin))
    beside = {} if direction not in _TOWARDS else beside_stroke(job.sheet, _TOWARDS[direction])
    rows = [
        (name, at, _expected_time(job.sheet, direction, figure), *rest)
        for run in runs
        for name, at, figure, *rest in _rows(run, runs, rules, day, observed=observed, with_origin=len(origins) > 1)
    ]
    return Strokes(
        direction=direction,
        heading=_HEADINGS.get(direction, f"Strokes, {direction}"),
        expected=_expected(job.sheet, direction, origins),
        observed=_observed(job, direction),
        judged=_without_empty(Table(title=f"Runs, {direction}", columns=_COLUMNS, rows=tuple(rows))),
        figures=all_figures(direction, runs, beside),
        brief=brief_figures(direction, runs, beside),
        runs=tuple(run.begun.run for run in runs),
    )


def _without_empty(table: Table) -> Table:
    """The table without those columns that say nothing in any row."""
    kept = [
        place
        for place, column in enumerate(table.columns)
        if column not in _SOMETIMES or any(row[place] not in _NOTHING for row in table.rows)
    ]
    rows = tuple(tuple(row[place] or "none" for place in kept) for row in table.rows)
    return msgspec.structs.replace(table, columns=tuple(table.columns[place] for place in kept), rows=rows)


def _rows(
    run: Run, runs: tuple[Run, ...], rules: tuple[str, ...], day: str, *, observed: bool, with_origin: bool
) -> list[Row]:
    """A row for each result: name, time, judged figure, limit, measured, verdict, timed by, commanded by, remarks."""
    name = run_name(run)
    at = ", ".join(part for part in (clock_text(run.at_utc, day), marks(run, runs)) if part)
    if not run.results:
        figure = run.figures[0].name if run.figures else ""
        measured = str(shown(run.figures[0])) if run.figures else "no figure"
        verdict = _unjudged(run)
        return [
            (name, at, figure, "none applied", measured, verdict, _timed(run), _commanded(run), _remarks(run, None))
        ]
    rows: list[Row] = []
    for result in run.results:
        verdict = verdict_text(result, run, observed=observed)
        if result.figure:
            verdict += f" [{rules.index(result.rule) + 1}]"
        limit = limits_text(result, run.figure(result.figure))
        if with_origin and result.origin:
            limit += f" ({result.origin})"
        words = (limit, _measured(run, result), verdict, _timed(run), _commanded(run), _remarks(run, result))
        rows.append((name, at, result.figure, *words))
        name, at = f"{run_name(run)}, as above", "as above"
    return rows


def _measured(run: Run, result: ResultDecided) -> str:
    figure = run.figure(result.figure)
    measured = "no figure" if figure is None else str(shown(figure))
    if result.figure and (len(run.results) > 1 or result.figure not in _JUDGED_TIMES):
        return f"{figure_name(result.figure)} {measured}"
    return measured


_JUDGED_TIMES = ("response_time", "traverse_time", "motion_time")


def _unjudged(run: Run) -> str:
    if run.voided_by:
        return str(Verdict.VOID)
    if run.ended is not None and run.ended.how == "no test":
        return str(Verdict.NO_TEST)
    if run.ended is not None and run.ended.how == "finished":
        return "not judged"
    return "no verdict"


def _timed(run: Run) -> str:
    return run.timed_by or "not timed"


def _commanded(run: Run) -> str:
    if run.commanded_by:
        return run.commanded_by
    if any(sent.purpose == "procedure" for sent in run.sent):
        return "laptop"
    return "not recorded" if run.begun.commands else "nobody"


def _remarks(run: Run, result: ResultDecided | None) -> str:
    figure = None if result is None else run.figure(result.figure)
    parts = [
        ending_text(run),
        f"abort condition: {run.tripped.reason}" if run.tripped is not None else "",
        f"void: {run.voided_by}" if run.voided_by else "",
        _rested(run),
        "" if figure is None else figure.note,
        "" if result is None else _settles(result),
        beside_text(result) if result is not None and result.simple not in ("", *_as_good(result)) else "",
        f"{len(run.gaps)} gap(s) in the readings" if run.gaps else "",
        _said_of(run, result),
    ]
    return "; ".join(part for part in parts if part)


def _rested(run: Run) -> str:
    """Hours at rest before it, where they are known and long enough to make its breakaway another one."""
    hours = run.begun.arguments.get("rest_h", "")
    return f"after {float(hours):g} h at rest" if hours and hours != "null" and is_rested(float(hours)) else ""


def _settles(result: ResultDecided) -> str:
    """What would settle it; what is to be watched stands on page one and in the comparison, figure by figure."""
    if result.verdict == Verdict.PASS_WATCH:
        return "watch: see the comparison with its baseline"
    return f"would settle it: {result.settles}" if result.settles else ""


def _as_good(result: ResultDecided) -> tuple[str, ...]:
    """Verdicts beside which simple acceptance says nothing new."""
    return (result.verdict, Verdict.PASS) if result.verdict == Verdict.PASS_WATCH else (result.verdict,)


def _said_of(run: Run, result: ResultDecided | None) -> str:
    """
    What was seen: the words of a result without a figure; else the procedure's notes, but not its progress. The checks
    before a partial stroke are many, and have a table of their own.
    """
    if run.begun.procedure == PROCEDURE and (result is None or result.figure):
        return ""
    if result is not None and not result.figure:
        return result.rule
    return "; ".join(note for note in run.notes if note not in _PROGRESS and not note.startswith(_SAID_ALOUD))


_PROGRESS = ("moving", "caused")
_SAID_ALOUD = ("WAITING: ", "NOW: ", "NEXT: ", "NEXT  ", "SEEN  ")
"""Notes by which a procedure says how far it is: of use to who watches, not to who reads."""


def _expected_time(sheet: Sheet, direction: str, figure: str) -> str:
    """The sheet's expected time, beside a figure that is that time."""
    if direction not in (OPENING, CLOSING):
        return ""
    limits = sheet.strokes.opening if direction == OPENING else sheet.strokes.closing
    return f"{limits.expected_s:g} s" if figure == _JUDGED_AS[limits.measured_as] else ""


_JUDGED_AS = {"t6-t0": "response_time", "t6-t4": "traverse_time", "t7-t3": "motion_time"}


def _expected(sheet: Sheet, direction: str, origins: tuple[str, ...]) -> str:
    if direction == PARTIAL and sheet.partial_stroke is not None:
        partial = sheet.partial_stroke
        ways = "uses" if partial.uses_trip_solenoid else "does not use"
        return (
            f"Sheet: {partial.target_pct:g} % in {partial.out_s:g} s, back in {partial.back_s:g} s; "
            f"turned round by the {partial.turned_by}; path: {partial.path}, which {ways} the trip solenoid"
        )
    if direction not in (OPENING, CLOSING):
        return ""
    limits = sheet.strokes.opening if direction == OPENING else sheet.strokes.closing
    source = f"; limits: {origins[0]}" if len(origins) == 1 else ""
    computed = computed_in_words(sheet, _TOWARDS[direction])
    beside = f"; computed {computed}, {CONDITIONS}" if computed else ""
    return f"Sheet: {limits.expected_s:g} s expected, {MEASURED_AS[limits.measured_as]}{beside}{source}"


def _observed(job: state.Job, direction: str) -> str:
    if direction not in (OPENING, CLOSING):
        return ""
    for look in job.register.stem_looks:
        if _WORDS.get(look.direction) == direction and look.start_mark and look.end_mark:
            return f"Stem mark seen: {look.start_mark} at the start, {look.end_mark} at the end"
    end = End.OPEN if direction == OPENING else End.CLOSED
    return f"Stem not looked at: that the valve itself reached {end} is not observed"

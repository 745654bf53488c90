"""
4–20 mA loops as the report shows them: as found beside as left, point by point, with the plot of their errors.

The first run of a loop is its as-found, the last that stands its as-left; every run has its verdict here, also one that
was stopped or made void. What the unit does not allow to be read is said with its reason.
"""

import re
from collections.abc import Mapping

import msgspec

from commission.figure import Figure, Verdict
from commission.job import state
from commission.job.motions import Run
from commission.procedures.span_plan import SPAN
from commission.report.display import clock_text, date_text, figure_name, shown, shown_limit
from commission.report.figures import run_name
from commission.report.span_plot import ErrorCurve, error_plot
from commission.report.table import Table

_HEADINGS = {"feedback": "Feedback, 4–20 mA against the stem", "command": "Command, 4–20 mA against the stem"}
_NOT_TESTED = " not tested: "
_POINT = re.compile(r"error_(up|down)_([\d.]+)_pct(?:_cycle_(\d+))?")
_OF_THE_CYCLE = (
    "zero_error", "span_error", "hysteresis", "repeatability", "inaccuracy_high", "inaccuracy_low",
    "linearity_independent", "linearity_zero_based", "linearity_terminal", "loop_trim_closed", "loop_trim_open",
    "left_after_trim", "loop_register_less_meter",
)  # fmt: skip


class Spans(msgspec.Struct, frozen=True, kw_only=True):
    """
    All runs of one loop.

    Args:
        signal: feedback or command.

        heading: What stands over them.

        about: What it was read with, and what was not tested, a sentence each.

        judged: Every run with its verdict.

        points: The errors at each point, as found and as left.

        figures: What they come to.

        svg: The plot; empty where nothing was read.

        caption: Under it.

        alternative: What it shows in words.
    """

    signal: str
    heading: str
    about: tuple[str, ...]
    judged: Table
    points: Table
    figures: Table
    svg: str
    caption: str
    alternative: str


def is_span(run: Run) -> bool:
    """Whether a run reads a loop."""
    return run.begun.procedure == SPAN


def spans(job: state.Job, rules: tuple[str, ...]) -> tuple[Spans, ...]:
    """
    The loops of a job.

    Args:
        job: As folded.

        rules: Decision rules; verdicts name them by number.
    """
    return tuple(_spans(job, signal, runs, rules) for signal, runs in by_signal(job).items())


def by_signal(job: state.Job) -> Mapping[str, tuple[Run, ...]]:
    """The runs of each loop that was read, in the order they were made."""
    ordered = [run for run in sorted(job.runs.values(), key=lambda run: run.n) if is_span(run)]
    signals = dict.fromkeys(run.begun.arguments.get("signal", "feedback") for run in ordered)
    return {
        signal: tuple(run for run in ordered if run.begun.arguments.get("signal", "feedback") == signal)
        for signal in signals
    }


def noted(job: state.Job) -> tuple[str, ...]:
    """What page one has to say: points that this unit does not allow, and a loop that failed as it was found."""
    lines = []
    for signal, runs in by_signal(job).items():
        lines += [f"{signal}: {reason}" for reason in _not_tested(runs)]
        first = runs[0]
        for result in first.results:
            figure = first.figure(result.figure)
            if result.verdict == Verdict.FAIL and figure is not None:
                limits = _limits(result.limit_low, result.limit_high, figure)
                lines.append(f"as-found failure, {signal}: {shown(figure)} against {limits} (run {run_name(first)})")
    return tuple(lines)


def _spans(job: state.Job, signal: str, runs: tuple[Run, ...], rules: tuple[str, ...]) -> Spans:
    shown_runs = _found_and_left(runs)
    read = [run.timed_by for run in shown_runs.values() if run.timed_by]
    not_tested = (f"{reason[:1].upper()}{reason[1:]}" for reason in _not_tested(runs))
    about = (*(f"Read with {words}" for words in dict.fromkeys(read)), *not_tested)
    curves = [curve for name, run in shown_runs.items() for curve in _curves(name, run, runs)]
    limit = _limit_pct(runs)
    heading = _HEADINGS.get(signal, f"{signal.capitalize()}, 4–20 mA")
    listed = ", ".join(curve.name for curve in curves)
    within = "" if limit is None else f"; limits ±{limit:g} % dashed"
    return Spans(
        signal=signal,
        heading=heading,
        about=about,
        judged=_judged(job, signal, runs, rules),
        points=_points(signal, shown_runs),
        figures=_figures(signal, shown_runs),
        svg=error_plot(curves, limit) if curves else "",
        caption=f"{signal.capitalize()}: error against the point{within}.",
        alternative=f"Error of the {signal} in percent of span against the point in percent: {listed}{within}",
    )


def _found_and_left(runs: tuple[Run, ...]) -> dict[str, Run]:
    """The runs that are shown point by point, by what they are called."""
    read = [run for run in runs if run.figures]
    if not read:
        return {}
    standing = [run for run in read if not run.voided_by] or read
    if standing[-1] is read[0]:
        return {"as found and left": read[0]}
    return {"as found": read[0], "as left": standing[-1]}


def _not_tested(runs: tuple[Run, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(note for run in runs for note in run.notes if _NOT_TESTED in note))


def _judged(job: state.Job, signal: str, runs: tuple[Run, ...], rules: tuple[str, ...]) -> Table:
    day = date_text(job.begun_utc)
    rows = []
    for run in runs:
        for result in run.results:
            figure = run.figure(result.figure)
            number = f" [{rules.index(result.rule) + 1}]" if result.figure else ""
            verdict = f"{Verdict.VOID} (was {result.verdict})" if run.voided_by else f"{result.verdict}{number}"
            measured = "no figure" if figure is None else str(shown(figure))
            limits = "none applied" if figure is None else _limits(result.limit_low, result.limit_high, figure)
            remarks = "; ".join(
                part
                for part in (
                    result.rule if figure is None else figure.note,
                    "" if not run.voided_by else f"void: {run.voided_by}",
                    result.settles and f"would settle it: {result.settles}",
                    result.origin and f"limit: {result.origin}",
                )
                if part
            )
            rows.append((run_name(run), clock_text(run.at_utc, day), measured, limits, verdict, remarks))
    columns = ("run", "at", "largest error (95 %)", "limit", "verdict", "remarks")
    return Table(title=f"Runs, {signal}", columns=columns, rows=tuple(rows), empty="no run has a verdict")


def _points(signal: str, runs: Mapping[str, Run]) -> Table:
    """A row for each point and side; as found beside as left."""
    names = dict.fromkeys(match[0] for run in runs.values() for match in _matches(run))
    columns = ["point"]
    for name in runs:
        columns += [f"stem, {name}", f"current, {name}", f"error, {name}"]
    rows = []
    for name in names:
        row = [figure_name(name).removeprefix("error at ")]
        for run in runs.values():
            point = name.removeprefix("error_")
            row += [_cell(run, part) for part in (f"stem_{point}", f"loop_current_{point}", name)]
        rows.append(tuple(row))
    return Table(title=f"Points, {signal}", columns=tuple(columns), rows=tuple(rows), empty="no point was read")


def _figures(signal: str, runs: Mapping[str, Run]) -> Table:
    rows = tuple(
        (figure_name(name), *(_cell(run, name) for run in runs.values()))
        for name in _OF_THE_CYCLE
        if any(run.figure(name) is not None for run in runs.values())
    )
    return Table(title=f"Of the cycle, {signal}", columns=("figure", *runs), rows=rows, empty="no point was read")


def _cell(run: Run, name: str) -> str:
    figure = run.figure(name)
    return "not read" if figure is None else str(shown(figure))


def _curves(name: str, run: Run, runs: tuple[Run, ...]) -> list[ErrorCurve]:
    """One for each way and cycle of a run."""
    ways: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for match in _matches(run):
        figure = run.figure(match[0])
        if figure is not None:
            ways.setdefault((match[1], match[3] or "1"), []).append((float(match[2]), float(figure.decimal) * 100))
    latest = run is list(_found_and_left(runs).values())[-1]
    several = len({cycle for _, cycle in ways}) > 1
    return [
        ErrorCurve(f"{name}, {way}{f' {cycle}' if several else ''}", tuple(places), way == "up", latest)
        for (way, cycle), places in ways.items()
    ]


def _matches(run: Run) -> list[re.Match[str]]:
    return [match for figure in run.figures if (match := _POINT.fullmatch(figure.name))]


def _limit_pct(runs: tuple[Run, ...]) -> float | None:
    limits = [result.limit_high for run in runs for result in run.results if result.limit_high]
    return float(limits[-1]) * 100 if limits else None


def _limits(low: str, high: str, figure: Figure) -> str:
    texts = (shown_limit(text, figure.name, figure.unit) for text in (low, high))
    return f"{' to '.join(text for text in texts if text)} {shown(figure).unit}".rstrip()

"""The partial stroke in the report: what its path leaves untested, what to watch, each figure beside its baseline."""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from commission.analysis.baseline import RESTED_H, Compared
from commission.figure import Figure, Verdict
from commission.job import state
from commission.job.bodies import ResultDecided
from commission.job.history import Kept
from commission.job.motions import Run
from commission.report.display import date_text, figure_name, printed_unit, shown, shown_limit
from commission.report.figures import run_name
from commission.report.table import Table

PROCEDURE = "partial_stroke"

_HUNDREDTH_BAR = Decimal("1E3")


def partial_runs(job: state.Job) -> tuple[Run, ...]:
    """Partial strokes in the order they were made."""
    ordered = sorted(job.runs.values(), key=lambda run: run.n)
    return tuple(run for run in ordered if run.begun.procedure == PROCEDURE)


def noted_partial(job: state.Job) -> tuple[str, ...]:
    """What page one has to say: the path's limitation, what is to be watched, what the baseline lacks."""
    return (*_limitation(job), *_watched(job), *_baseline_lines(job))


def comparison(job: state.Job) -> Table:
    """The first partial stroke that was held against a baseline, figure by figure."""
    found = [(run, result) for run in partial_runs(job) for result in run.results if result.compared]
    if not found:
        return Table(title="Partial stroke against its baseline", columns=("figure",), empty="not compared")
    run, result = found[0]
    rows = tuple(
        row
        for compared in result.compared
        if (figure := run.figure(compared.figure)) is not None
        for row in (_row(compared, figure),)
    )
    title = f"Partial stroke {run_name(run)} against its baseline"
    columns = ("figure", "now (95 %)", "baseline", "corrected by", "change", "band", "verdict")
    return Table(title=title, columns=columns, rows=rows, notes=tuple(_notes(job, run, result, found[1:])))


def beside_baseline(run: Run) -> Mapping[str, str]:
    """By figure, what its baseline was and how it came off beside it, as `was 53.5 bar, watch`."""
    found = {}
    for compared in (row for result in run.results for row in result.compared if row.baseline):
        figure = run.figure(compared.figure)
        if figure is not None:
            was = f"was {_printed(compared.baseline, figure)} {printed_unit(figure.name, figure.unit)}"
            verdict = compared.verdict.removeprefix("pass, ")
            found[figure.name] = f"{was}, {verdict}" if verdict else was
    return found


def checked(job: state.Job) -> Table:
    """What was looked at before the latest partial stroke, each with its reading."""
    columns = ("checked just before", "found")
    runs = partial_runs(job)
    if not runs:
        return Table(title="Checks before the partial stroke", columns=columns, empty="none made")
    pairs = [note.partition(": ") for note in runs[-1].notes]
    rows = tuple((name, words) for name, colon, words in pairs if colon)
    return Table(title=f"Checks before the partial stroke {run_name(runs[-1])}", columns=columns, rows=rows)


def _limitation(job: state.Job) -> Iterator[str]:
    plan = job.sheet.partial_stroke
    if plan is None or plan.uses_trip_solenoid or not any(run.results for run in partial_runs(job)):
        return
    yield f"limitation: the partial stroke's path ({plan.path}) does not use the trip solenoid, and leaves it untested"


def _watched(job: state.Job) -> Iterator[str]:
    for run in partial_runs(job):
        for result in run.results:
            if result.verdict == Verdict.PASS_WATCH and not run.voided_by:
                yield f"watch, partial stroke {run_name(run)}: {result.settles}"


def _baseline_lines(job: state.Job) -> Iterator[str]:
    kept = job.history.baseline
    if kept is not None:
        yield baseline_text(job, kept)


def baseline_text(job: state.Job, kept: Kept) -> str:
    """A baseline in one line: its runs, who signed it and when, from which job, and whether a rested run is in it."""
    baseline = kept.set.baseline
    days = sorted({run.at_utc[:10] for run in baseline.runs})
    earlier = job.history.earlier
    source = f", taken over from {earlier.file}" if kept.earlier and earlier is not None else ""
    reason = f" ({kept.set.reason})" if kept.set.reason else ""
    lacks = "" if baseline.has_rested_run else f"; it has no run after at least {RESTED_H:g} h at rest"
    words = f"baseline {baseline.id}: {len(baseline.runs)} partial strokes of {', '.join(days)}"
    return f"{words}, signed by {kept.set.signed_by}{reason}{source}{lacks}"


def _row(compared: Compared, figure: Figure) -> tuple[str, ...]:
    unit = printed_unit(figure.name, figure.unit)
    if not compared.baseline:
        change = baseline = "none"
    else:
        baseline = f"{_printed(compared.baseline, figure)} {unit}"
        was, now = float(compared.baseline), float(figure.value)
        unsure = float(figure.expanded_uncertainty)  # of a value that is not told from zero no share is taken
        change = f"{100 * (now - was) / abs(was):+.1f} %" if abs(was) > max(1e-3, unsure) else "about zero"
    low, high = (_printed(text, figure) for text in (compared.low, compared.high))
    band = f"{low} to {high} {unit}" if low and high else "for information"
    verdict = f"{compared.verdict}: {compared.why}" if compared.why else compared.verdict or "not judged"
    corrected = _corrected(compared, figure, unit)
    return (figure_name(figure.name), str(shown(figure)), baseline, corrected, change, band, verdict)


def _corrected(compared: Compared, figure: Figure, unit: str) -> str:
    """What was added to the baseline for other conditions, to the figure's own place."""
    text = _printed(compared.corrected, figure)
    if not text or not float(text):
        return "nothing"
    return f"{'' if text.startswith('-') else '+'}{text} {unit}"


def _printed(text: str, figure: Figure) -> str:
    """A number beside a figure, in its unit and to its last place; empty stays empty."""
    if not text:
        return ""
    place = Decimal(1).scaleb(int(figure.decimal.as_tuple().exponent))
    near = Decimal(text).quantize(place if figure.unit != "Pa" else max(place, _HUNDREDTH_BAR))
    return shown_limit(format(near, "f"), figure.name, figure.unit)


def _notes(job: state.Job, run: Run, result: ResultDecided, later: list[tuple[Run, ResultDecided]]) -> Iterator[str]:
    rest = run.begun.arguments.get("rest_h")
    yield f"Hours at rest before it: {rest if rest is not None else 'not known'}. Verdict: {result.verdict}."
    conditions = next((row.conditions for row in result.compared if row.conditions), "")
    if conditions:
        yield f"Corrected from the baseline's {conditions}; each correction may be wrong by as much as itself."
    yield "No pressure difference is corrected for: a valve that leaves its open end has hardly any on the way."
    if later:
        others = ", ".join(f"{run_name(one)} {decided.verdict}" for one, decided in later)
        yield f"The first result stands; made after it: {others}."
    kept = job.history.baseline
    if kept is not None:
        words = baseline_text(job, kept)
        yield f"{words[0].upper()}{words[1:]}; set {date_text(kept.at_utc)}."

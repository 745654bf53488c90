"""What came out of a test: verdict, expected beside measured, uncertainty, the rule, and what would settle it."""

from collections.abc import Iterable, Mapping
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from commission.engineering.beside import CONDITIONS, beside_stroke, computed_in_words
from commission.face.span_table import is_of_a_point, span_table
from commission.figure import Verdict
from commission.job.bodies import ResultDecided
from commission.job.motions import Run
from commission.job.state import Job
from commission.report.display import MEASURED_AS, figure_name, shown, shown_limit
from commission.report.partial import beside_baseline
from commission.report.strokes import beside_text
from commission.sheet import End
from commission.terminal.frame import Frame
from commission.terminal.moving import outcome
from commission.terminal.widgets.lines import Key
from commission.terminal.widgets.page import Line, Page, clipped, heading, paragraph
from commission.visit import Visit

LABEL = 13
FULL_STROKES = ("full_stroke", "watched_stroke")
_TOWARDS = {"open": End.OPEN, "closed": End.CLOSED}


class ResultScreen(Frame[bool]):
    """
    One run's result.

    Args:
        visit: The open visit.

        run: The run, as the record has it.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Enter", "go on", 0), Key("Up/Down", "scroll", 2))
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape", "go_on", "go on", show=False)]

    def __init__(self, visit: Visit, run: Run) -> None:
        super().__init__()
        self._visit = visit
        self._run = run

    def body(self) -> Iterable[Widget]:
        """One page."""
        yield Page(id="result", drawing=self.shell.shows.drawing)

    def on_mount(self) -> None:
        """Draw it; it does not change any more."""
        super().on_mount()
        page = self.query_one(Page)
        page.focus()
        page.show(lambda width: result_lines(self._visit.job, self._run, width))

    def action_go_on(self) -> None:
        """Back to the walk."""
        self.dismiss(result=True)


def result_lines(job: Job, run: Run, width: int) -> list[Line]:
    """The verdict of each test first, then how the run ended, then every figure."""
    lines: list[Line] = []
    for result in run.results:
        lines += _decided(job, run, result, width)
    if not run.results:
        lines += [*verdict_bar("NO VERDICT", width), *_labelled("Test", run.begun.test, width)]
    if run.ended is not None and run.ended.how != "finished":
        lines += _labelled("Ended", f"{run.ended.how}: {run.ended.reason}", width)
        lines += _labelled("Safe end", outcome(run, job.sheet) or run.ended.safe_end, width)
    if run.timed_by:
        lines += _labelled("Timed by", f"{run.timed_by}; commanded by {run.commanded_by or 'nobody known'}", width)
    table = span_table(run)
    lines += ["", *table] if table else []
    judged = {result.figure for result in run.results}
    others = [figure for figure in run.figures if figure.name not in judged and not is_of_a_point(figure.name)]
    beside = {**_beside(job, run), **beside_baseline(run)}
    if others:
        lines += ["", heading(f"Also measured (95 % uncertainty), {_what_is_beside(run)} beside it")]
    said = ""
    for figure in others:
        line = f"  {clipped(figure_name(figure.name), 30):<32}{shown(figure)}"
        lines.append(clipped(f"{line}   {beside[figure.name]}" if figure.name in beside else line, width))
        if figure.note and figure.note != said:  # what holds for several in a row is said under the first of them
            lines += paragraph(figure.note, width, " " * 6)
        said = figure.note
    return lines


def verdict_bar(verdict: str, width: int) -> list[Line]:
    """A verdict that can be read from two paces away: three reversed lines, the word spaced out in the middle."""
    spaced = "   ".join(" ".join(word) for word in verdict.upper().split())
    word = spaced if len(spaced) <= width - 4 else clipped(verdict.upper(), width - 4)
    return [((f"{text:^{width}}", "bold reverse"),) for text in ("", word, "")]


def _decided(job: Job, run: Run, result: ResultDecided, width: int) -> list[Line]:
    lines = [*verdict_bar(result.verdict, width), ""]
    lines += _labelled("Test", f"{result.test}: {job.checklist.step(run.begun.step).title}", width)
    figure = run.figure(result.figure)
    if figure is not None:
        value = shown(figure)
        bound = "at least " if figure.lower_bound_only else ""
        measured = f"{bound}{value.value} {value.unit}".rstrip()
        lines.append(
            ((f"{'Measured':<{LABEL}}", ""), (measured, "bold"), (f"   U {value.uncertainty} {value.unit} (95 %)", ""))
        )
        lines += _labelled("Expected", _expected(job, run), width)
        lines += _labelled("Limits", _limits(result, figure.name, figure.unit, value.unit), width)
        lines += _labelled("Measured as", MEASURED_AS.get(_measured_as(job, run), ""), width)
        lines += _labelled("Note", figure.note, width)
    lines += _labelled("Found" if figure is None else "Rule", result.rule, width)
    lines += _labelled("Watch" if result.verdict == Verdict.PASS_WATCH else "Settled by", result.settles, width)
    lines += _labelled("Beside", beside_text(result), width)
    return [*lines, ""]


def _limits(result: ResultDecided, name: str, si_unit: str, unit: str) -> str:
    low, high = (shown_limit(text, name, si_unit) for text in (result.limit_low, result.limit_high))
    if low and high:
        span = f"{low} to {high} {unit}"
    elif low or high:
        span = f"at least {low} {unit}" if low else f"at most {high} {unit}"
    else:
        return ""
    return f"{span}  ({result.origin})" if result.origin else span


def _expected(job: Job, run: Run) -> str:
    limits = {"open": job.sheet.strokes.opening, "closed": job.sheet.strokes.closing}.get(_direction(run))
    if limits is None:
        return ""
    computed = computed_in_words(job.sheet, _TOWARDS[_direction(run)])
    beside = f"; computed {computed}, {CONDITIONS}" if computed else ""
    return f"{limits.expected_s:g} s  ({limits.origin}){beside}"


def _beside(job: Job, run: Run) -> Mapping[str, str]:
    """What the sheet says of the figures of a full stroke; nothing of any other run."""
    towards = _TOWARDS.get(_direction(run))
    if towards is None or run.begun.procedure not in FULL_STROKES:
        return {}
    return {name: f"expected {known.text}" for name, known in beside_stroke(job.sheet, towards).items()}


def _what_is_beside(run: Run) -> str:
    return "baseline" if beside_baseline(run) else "expected"


def _measured_as(job: Job, run: Run) -> str:
    limits = {"open": job.sheet.strokes.opening, "closed": job.sheet.strokes.closing}.get(_direction(run))
    return "" if limits is None else limits.measured_as


def _direction(run: Run) -> str:
    return str(run.begun.arguments.get("direction", ""))


def _labelled(label: str, text: str, width: int) -> list[str]:
    if not text:
        return []
    first = f"{label:<{LABEL}}" if len(label) < LABEL else f"{label} "
    return paragraph(text, width, first, " " * LABEL)

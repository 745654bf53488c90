"""What came out of a test: expected beside measured, uncertainty, the rule, and what would settle it."""

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from commission.face import wording
from commission.job.motions import Run
from commission.report.display import figure_name, shown
from commission.terminal.frame import Frame
from commission.terminal.widgets.lines import Key
from commission.visit import Visit


class ResultScreen(Frame[bool]):
    """
    One run's result.

    Args:
        visit: The open visit.

        run: The run, as the record has it.
    """

    own_keys: ClassVar[tuple[Key, ...]] = (Key("Enter", "go on", 0),)
    with_sides = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape", "go_on", "go on", show=False)]

    def __init__(self, visit: Visit, run: Run) -> None:
        super().__init__()
        self._visit = visit
        self._run = run

    def body(self) -> Iterable[Widget]:
        """The verdict, then every figure."""
        with VerticalScroll(can_focus=True):
            yield Static(Content("\n".join(_lines(self._visit, self._run))), id="result", markup=False)

    def action_go_on(self) -> None:
        """Back to the walk."""
        self.dismiss(result=True)


def _lines(visit: Visit, run: Run) -> list[str]:
    lines = []
    for result in run.results:
        lines += [f"{result.test}: {str(result.verdict).upper()}", ""]
        figure = run.figure(result.figure)
        if figure is not None:
            lines += wording.labelled("Measured", f"{shown(figure)}  (95 %)", 76)
            limits = f"{result.limit_low or '…'} to {result.limit_high or '…'} s  ({result.origin})"
            lines += wording.labelled("Limits", limits, 76)
            lines += wording.labelled("Expected", _expected(visit, run), 76)
        lines += wording.labelled("Rule", result.rule, 76)
        lines += wording.labelled("Settles", result.settles, 76)
    if run.ended is not None and run.ended.how != "finished":
        lines += wording.labelled("Ended", f"{run.ended.how}: {run.ended.reason}", 76)
        lines += wording.labelled("Safe end", run.ended.safe_end, 76)
    lines += wording.labelled("Timed by", f"{run.timed_by or 'nothing'}; commanded by {run.commanded_by or '-'}", 76)
    lines.append("")
    return lines + [f"  {figure_name(figure.name):<34}{shown(figure)}" for figure in run.figures]


def _expected(visit: Visit, run: Run) -> str:
    direction = run.begun.arguments.get("direction", "")
    strokes = visit.job.sheet.strokes
    limits = {"open": strokes.opening, "closed": strokes.closing}.get(direction)
    return "" if limits is None else f"{limits.expected_s:g} s by the sheet"

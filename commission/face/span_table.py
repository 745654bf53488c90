"""The points of a loop as lines for both faces: stem, current and error beside one another, with what they come to."""

import re

from commission.job.motions import Run
from commission.report.display import figure_name, shown

_ERROR = re.compile(r"error_((?:up|down)_[\d.]+_pct(?:_cycle_\d+)?)")
_OF_POINT = re.compile(r"(?:error|loop_current|stem)_(?:up|down)_[\d.]+_pct(?:_cycle_\d+)?")
_COLUMNS = (20, 19, 20)


def is_of_a_point(name: str) -> bool:
    """Whether a figure belongs to one point of a loop, and so into its table."""
    return _OF_POINT.fullmatch(name) is not None


def span_table(run: Run) -> list[str]:
    """A heading and a line for each point that was read, of at most 76 columns; empty for a run that read none."""
    points = [match[1] for figure in run.figures if (match := _ERROR.fullmatch(figure.name))]
    if not points:
        return []
    rows = [_row("Point", "stem", "current", "error of span")]
    for point in points:
        name = figure_name(f"error_{point}").removeprefix("error at ")
        rows.append(_row(name, *(_cell(run, f"{what}_{point}") for what in ("stem", "loop_current", "error"))))
    return rows


def _row(name: str, *cells: str) -> str:
    first, *others = (f"{text:<{width}}" for text, width in zip((name, *cells[:-1]), _COLUMNS, strict=True))
    return f"  {first}{''.join(others)}{cells[-1]}".rstrip()


def _cell(run: Run, name: str) -> str:
    figure = run.figure(name)
    return "not read" if figure is None else str(shown(figure))

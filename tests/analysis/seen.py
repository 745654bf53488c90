"""A whole observed stroke, made from a synthetic one, for the tests of `analysis`."""

import random
from pathlib import Path

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.sample import Silence, Written
from commission.sheet import End, Sheet, load_sheet
from commission.sheet.decode import Readings
from tests.procedures.strokes import Line, Stroke, command_time, samples

UNIT = Path(__file__).parents[2] / "checklists" / "units" / "xv-1101.toml"

SHEET: Sheet = load_sheet(UNIT)[0]


def observe(
    stroke: Stroke, line: Line, seed: int, seen: tuple[Readings | Silence, ...] | None = None
) -> StrokeObserved:
    """The stroke as this line sees it; `seen` replaces the samples."""
    random_ = random.Random(seed)
    return StrokeObserved(
        test="K1 open 1" if stroke.opening else "K1 closed 1",
        direction=End.OPEN if stroke.opening else End.CLOSED,
        command=Written(*command_time(stroke, line, random_)),
        seen=tuple(samples(stroke, line, random_)) if seen is None else seen,
        ended=StrokeEnd.HOME,
    )


def figure_values(figures: tuple[object, ...]) -> dict[str, tuple[float, float]]:
    """Value and uncertainty of each figure by name."""
    return {f.name: (float(f.value), float(f.expanded_uncertainty)) for f in figures}  # type: ignore[attr-defined]  # see type

"""Partial strokes of the real practice unit as they are observed, for the tests of their figures and verdicts."""

from functools import lru_cache

import msgspec

from commission.analysis.baseline import Baseline, BaselineRun
from commission.analysis.partial import PartialObserved, partial_figures
from commission.figure import Figure
from commission.practice.condition import Condition
from commission.procedures.partial_stroke import partial_stroke
from commission.procedures.partial_told import Told
from tests.analysis.seen import SHEET
from tests.supervise.direct import DirectSite, made_directly

TOLD = Told(test="L2 1", steady_s=3.0, starts_used=1, line_change_bar=2.0, rest_h=0.2)


@lru_cache(maxsize=32)
def observed(condition: Condition = Condition(), seed: int = 1, cycle_s: float = 0.05) -> PartialObserved:  # noqa: B008  # frozen
    """One partial stroke that the unit ran to its end."""

    def prepare(site: DirectSite) -> None:
        site.unit.cycle_s = cycle_s

    ended, _ = made_directly(
        SHEET, lambda _site: partial_stroke(SHEET, TOLD), condition=condition, seed=seed, prepare=prepare
    )
    assert ended.observed is not None, ended
    return ended.observed


def figures(condition: Condition = Condition(), seed: int = 1) -> dict[str, Figure]:  # noqa: B008  # frozen
    """Its figures by name."""
    return {figure.name: figure for figure in partial_figures(observed(condition, seed), SHEET)}


def run_of(found: dict[str, Figure], name: str = "L2-1", rest_h: float | None = 0.2) -> BaselineRun:
    """The same as a run of a baseline."""
    values = {figure.name: (figure.value, figure.expanded_uncertainty) for figure in found.values()}
    return BaselineRun(name, "2025-11-24T14:30:00+00:00", rest_h, values, 20.0, 24.4)


@lru_cache(maxsize=4)
def baseline(rested: bool = False) -> Baseline:  # noqa: FBT001, FBT002  # one switch of a test
    """Three healthy runs; with one more after a night's rest where asked."""
    runs = [run_of(figures(seed=seed), f"L2-{seed}") for seed in (1, 2, 3)]
    if rested:
        runs.append(msgspec.structs.replace(runs[0], run="L2-4", rest_h=14.0))
    return Baseline(
        id="B1",
        runs=tuple(runs),
        serial="EH-40117",
        settings={"run_limit": "300"},
        oil="low-temperature mineral oil",
        path="separate 1.2 mm bleed",
        oil_c=20.0,
    )

"""Stored figures come out the same under every BLAS kernel, and load no numerical library at all."""

import os
import subprocess
import sys

import pytest

FIGURES = """
import math, random, sys
from commission.analysis.breakaway import breakaway_load
from commission.analysis.budget import Budget, readings, rectangular, student, triangular
from commission.analysis.hold_watch import HoldEnd, HoldObserved, hold_figures
from commission.analysis.holding import Held, hold_drift
from commission.analysis.hunting import hunting_figures
from commission.analysis.intervals import Instant
from commission.analysis.line_fit import fit_line
from commission.analysis.repeats import repeatability
from commission.analysis.response import StepSeen, step_figures
from commission.analysis.supply_trace import dip_figures, insulation_at_40
from commission.analysis.timing import stroke_figures
from commission.analysis.trend import slope_of
from commission.figure import make_figure
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.analysis.partial import partial_figures
from commission.analysis.span import span_figures
from tests.analysis.seen import SHEET, observe
from tests.analysis.spans import fcv_2204, modulating
from tests.analysis.test_partial_coverage import FAST, observed, stroke_of
from tests.procedures.strokes import Line, Stroke

for opening in (True, False):
    for figure in stroke_figures(observe(Stroke(opening=opening), Line(), 3), SHEET):
        print(figure.name, figure.value, figure.expanded_uncertainty, figure.unrounded.hex(), figure.budget)
random_ = random.Random(4)
values = [random_.gauss(8, 0.05) for _ in range(12)]
lines = (rectangular("a", 0.1), triangular("b", 0.2), student("c", 0.05, 4), readings("d", values))
print(Budget(lines).expanded().hex())
print(slope_of("drift", range(12), values, "s/a"), fit_line(range(12), values).meets(10.0))
print(hold_drift([Held(900.0 * n, value, random_.gauss(20, 3)) for n, value in enumerate(values)]))
print(repeatability([make_figure("response_time", value, 0.03, "s", "test/1") for value in values]))
def track(at):
    return tuple(Reading(at(0.1 * n) + random_.gauss(0, 3e-4), round(1e8 * n), 1_000_000) for n in range(600))
lagging = track(lambda t: 0.5 + 0.1 * (t > 10.3) * (1 - math.exp(10.3 - t)))
step = StepSeen(command=Instant(10**10), size=0.1, travel=lagging, scan_ns=0)
print(step_figures(step), hunting_figures(track(lambda t: 0.5 + 0.02 * math.sin(t))))
supply = track(lambda t: 26.0 - 2.0 * (t > 10) + 0.5 * (t > 11))
print(dip_figures(supply, tuple(Reading(float(r.at_ns > 10**10), r.at_ns, 0) for r in supply)))
print(insulation_at_40(2.4e8, 18.3), breakaway_load(make_figure("p", 53.1e5, 2e4, "Pa", "x"), End.OPEN, SHEET))
held = (Readings(n, r.at_ns, {"travel": r, "oil_temperature": s}) for n, (r, s) in enumerate(zip(supply, supply)))
print(hold_figures(HoldObserved(test="G9", seen=tuple(held), ended=HoldEnd.DONE), SHEET))
seen, _ = observed(stroke_of(random.Random(5), dips=False), FAST, random.Random(6))
for figure in (*partial_figures(seen, SHEET), *span_figures(fcv_2204(), modulating())):
    print(figure.name, figure.value, figure.expanded_uncertainty, figure.unrounded.hex(), figure.budget)
print("numpy" in sys.modules, "scipy" in sys.modules)
"""


def printed(kernel: str, before: str = "") -> str:
    """What a fresh interpreter prints of the figures under this kernel."""
    environment = {**os.environ, "OPENBLAS_CORETYPE": kernel, "PYTHONHASHSEED": "0"}
    done = subprocess.run(
        [sys.executable, "-c", before + FIGURES], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.slow
def test_figures_are_the_same_to_the_last_bit_under_several_kernels() -> None:
    """Also where something else in the program has loaded NumPy first, with another kernel each."""
    plain = printed("")
    assert plain.splitlines()[-1] == "False False"
    for kernel in ("Haswell", "Nehalem", "Prescott"):
        loaded = printed(kernel, "import numpy; numpy.linalg.inv(numpy.eye(9) + 1)\n")
        assert loaded.splitlines()[:-1] == plain.splitlines()[:-1], kernel

"""Stored figures come out the same under every BLAS kernel, and load no numerical library at all."""

import os
import subprocess
import sys

import pytest

FIGURES = """
import random, sys
from commission.analysis.budget import Budget, readings, rectangular, student, triangular
from commission.analysis.holding import Held, hold_drift
from commission.analysis.line_fit import fit_line
from commission.analysis.repeats import repeatability
from commission.analysis.timing import stroke_figures
from commission.analysis.trend import slope_of
from commission.figure import make_figure
from tests.analysis.seen import SHEET, observe
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

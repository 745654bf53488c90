"""
Calibration cycles against published tables (published values 2), and against another computation of the same.

Eleven points: after the calibration table of ANSI/ISA-51.1-1979 (R1993). Reconstructed from memory (M?): three of its
printed results (0.22 %, 0.05 %, -0.28 %) come out of it, but single cells may differ from the page; so it is a worked
example after that standard, its data unconfirmed. Five points in mA: constructed, no published source. Definitions
after IEC 61298-2:2008 and ANSI/ISA-51.1 (M); expected numbers computed with a general library (C).
"""

import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog, minimize_scalar

from commission.analysis.calibration import PointError, average_curve, characteristics
from commission.analysis.straight_line import independent_line, terminal_line, zero_based_line

ELEVEN = Path(__file__).with_name("calibration_cycle_11_points.csv")
FIVE = Path(__file__).with_name("calibration_cycle_5_points_ma.csv")


def _cells(path: Path) -> Iterator[tuple[dict[str, str], str, float]]:
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            for name in row:
                if name.startswith(("up_", "down_")) and row[name]:
                    yield row, name, float(row[name])


def _error(row: dict[str, str], name: str, error: float) -> PointError:
    side, cycle = name.split("_")
    at = float(row["input_percent"])
    return PointError(point=at, up=side == "up", cycle=int(cycle), at=at, error=error)


def eleven_points() -> list[PointError]:
    """The eleven-point table, in percent of span as it is written."""
    return [_error(row, name, value) for row, name, value in _cells(ELEVEN)]


def five_points() -> list[PointError]:
    """The five-point table: milliamperes to percent of the 16 mA of span."""
    return [_error(row, name, (value - float(row["ideal_mA"])) / 16 * 100) for row, name, value in _cells(FIVE)]


def test_eleven_points_measured_accuracy_hysteresis_and_repeatability() -> None:
    """2.1 to 2.4: +0.12 / -0.32; 0.22 within a cycle, 0.20 on averages; 0.05."""
    found = characteristics(eleven_points())
    assert (found.high, found.low) == pytest.approx((0.12, -0.32), abs=1e-9)
    assert found.hysteresis_in_cycle == pytest.approx(0.22, abs=1e-9)
    assert found.hysteresis == pytest.approx(0.20, abs=1e-9)
    assert found.repeatability == pytest.approx(0.05, abs=1e-9)


def test_eleven_points_averages() -> None:
    """2.5 and 2.6: the averages up and down."""
    up = [-0.15, -0.25, -0.25, -0.15, -0.1567, -0.25, -0.30, -0.15, -0.10, 0.10]
    down = [-0.05, 0.05, -0.10, -0.10, -0.05, 0.00, -0.10, -0.15, -0.05, 0.10]
    for side, wanted in ((True, up), (False, down)):
        here = average_curve([known for known in eleven_points() if known.up is side])
        assert [value for _, value in here] == pytest.approx(wanted, abs=1e-4)


def test_eleven_points_linearity() -> None:
    """2.7 to 2.9: independent, terminal-based and zero-based."""
    found = characteristics(eleven_points())
    assert found.independent is not None
    assert found.terminal is not None
    assert found.zero_based is not None
    line = found.independent
    assert (line.high, line.low) == pytest.approx((0.14, -0.14), abs=1e-6)
    assert (line.at_zero, line.slope) == pytest.approx((-0.19, 0.0015), abs=1e-6)
    assert (found.terminal.low, found.terminal.high) == pytest.approx((-0.28, 0.0), abs=1e-9)
    assert (found.zero_based.high, found.zero_based.low) == pytest.approx((0.164706, -0.164706), abs=1e-6)
    assert found.zero_based.slope == pytest.approx(-0.000147059, abs=1e-9)


def test_a_least_squares_line_is_none_of_the_three() -> None:
    """2.10: it leaves more than the independent line does."""
    curve = np.array(average_curve(eleven_points()))
    slope, at_zero = np.polyfit(curve[:, 0], curve[:, 1], 1)
    largest = float(np.max(np.abs(curve[:, 1] - at_zero - slope * curve[:, 0])))
    assert (at_zero, slope, largest) == pytest.approx((-0.138939, 0.000909091, 0.149697), abs=1e-6)
    assert largest > independent_line([(float(at), float(value)) for at, value in curve]).high


def test_five_points_in_milliamperes() -> None:
    """2.11 to 2.14: accuracy, hysteresis, repeatability, zero and span."""
    found = characteristics(five_points())
    assert (found.high, found.low) == pytest.approx((0.23125, 0.01250), abs=1e-6)
    assert found.hysteresis_in_cycle == pytest.approx(0.1, abs=1e-6)
    assert found.hysteresis == pytest.approx(0.1, abs=1e-6)
    assert found.repeatability == pytest.approx(0.0125, abs=1e-6)
    assert (found.zero_error, found.span_error) == pytest.approx((0.0270833, 0.0), abs=1e-6)


def test_five_points_linearity() -> None:
    """2.15: independent, terminal-based, zero-based."""
    found = characteristics(five_points())
    assert found.independent is not None
    assert found.terminal is not None
    assert found.zero_based is not None
    assert found.independent.largest == pytest.approx(0.0739583, abs=1e-6)
    assert found.terminal.largest == pytest.approx(0.1479167, abs=1e-6)
    assert found.zero_based.largest == pytest.approx(0.0986111, abs=1e-6)


@pytest.mark.parametrize("seed", range(40))
def test_the_lines_against_general_optimisers(seed: int) -> None:
    """Independent: the same as a linear programme; zero-based: as a bounded search; terminal: as its equation."""
    generator = np.random.default_rng(seed)
    ats = np.sort(generator.choice(np.arange(0, 101), size=int(generator.integers(3, 12)), replace=False))
    values = generator.normal(size=len(ats))
    points = [(float(at), float(value)) for at, value in zip(ats, values, strict=True)]
    ones = np.ones(len(ats))
    rows = np.vstack([np.column_stack([-ones, -ats, -ones]), np.column_stack([ones, ats, -ones])])
    solved = linprog([0, 0, 1], A_ub=rows, b_ub=np.concatenate([-values, values]), bounds=[(None, None)] * 3)
    assert abs(independent_line(points).largest) == pytest.approx(solved.x[2], abs=1e-9)
    run, rise = ats[1:] - ats[0], values[1:] - values[0]
    searched = minimize_scalar(
        lambda slope: float(np.max(np.abs(rise - slope * run))), bounds=(-100, 100), method="bounded",
        options={"xatol": 1e-12},
    )  # fmt: skip
    assert abs(zero_based_line(points).largest) == pytest.approx(searched.fun, abs=1e-6)
    chord = values[0] + (values[-1] - values[0]) * (ats - ats[0]) / (ats[-1] - ats[0])
    assert abs(terminal_line(points).largest) == pytest.approx(float(np.max(np.abs(values - chord))), abs=1e-12)

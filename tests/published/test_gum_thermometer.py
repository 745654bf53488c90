"""
Calibration of a thermometer, JCGM 100:2008, example H.3 (published values 3): line, correlation, prediction.

Letters: data R (public documentation of a measurement library quoting H.3), results M and C (numpy and that library).
"""

import math

import numpy as np
import pytest

from commission.analysis.budget import Budget, student
from commission.analysis.line_fit import LineFit, fit_line
from tests.published.rows import rows_of

ROWS = rows_of("gum_h3_thermometer.csv")
READ = [float(row["t_k_degC"]) for row in ROWS]
CORRECTION = [float(row["b_k_degC"]) for row in ROWS]


@pytest.fixture(name="line")
def line_of_corrections() -> LineFit:
    """Corrections over temperature, counted from 20 °C as the example does."""
    return fit_line([t - 20 for t in READ], CORRECTION)


def test_intercept_slope_and_their_uncertainties(line: LineFit) -> None:
    """3.1 and 3.2: −0.1712 ± 0.0029 °C and 0.00218 ± 0.00067 (H.3.3)."""
    found = [line.value(0), line.standard(0), line.slope, line.slope_standard, line.scatter]
    expected = [-0.171203791, 0.00287760, 0.00218270, 0.00066794, 0.00349756]
    assert found == pytest.approx(expected, abs=1e-7)


def test_correlation_of_intercept_and_slope(line: LineFit) -> None:
    """3.1: r = −0.930 (H.3.3); without it the prediction of 3.4 is wrong."""
    assert line.correlation == pytest.approx(-0.9304296, abs=1e-7)


def test_predicted_correction_at_30_degrees(line: LineFit) -> None:
    """3.3: −0.1494 °C, u = 0.0041 °C with 9 degrees of freedom (H.3.4)."""
    assert line.value(10) == pytest.approx(-0.14937681, abs=1e-8)
    assert line.standard(10) == pytest.approx(0.00413860, abs=1e-8)
    assert line.freedom == 9


def test_leaving_the_correlation_out_is_wrong(line: LineFit) -> None:
    """3.4: 0.0073 °C instead of 0.0041 (the point that H.3.5 makes); a shared line of a budget keeps it in."""
    wrong = math.hypot(line.standard(0), 10 * line.slope_standard)
    assert wrong == pytest.approx(0.0073, abs=1e-4)
    mean = student("mean of the corrections", line.scatter / math.sqrt(line.count), line.freedom)
    tilt = student("slope", line.slope_standard, line.freedom, 10 - line.mean_x)
    assert Budget((mean, tilt)).combined == pytest.approx(line.standard(10), rel=1e-12)


def test_at_the_mean_the_two_are_uncorrelated() -> None:
    """3.5: counted from the mean temperature, intercept −0.16245455 with s = 0.00105456 and no correlation (H.3.5)."""
    mean = math.fsum(READ) / len(READ)
    line = fit_line([t - mean for t in READ], CORRECTION)
    assert [line.value(0), line.standard(0)] == pytest.approx([-0.16245455, 0.00105456], abs=1e-8)
    assert line.correlation == pytest.approx(0, abs=1e-12)


def test_numpy_agrees(line: LineFit) -> None:
    """Referee: least squares of NumPy, coefficients and covariance."""
    coefficients, covariance = np.polyfit([t - 20 for t in READ], CORRECTION, 1, cov=True)
    assert [line.slope, line.value(0)] == pytest.approx(list(coefficients), rel=1e-10)
    deviations = np.sqrt(np.diag(covariance))
    assert [line.slope_standard, line.standard(0)] == pytest.approx(list(deviations), rel=1e-8)

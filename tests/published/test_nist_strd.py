"""
Certified regression and univariate sets of NIST's Statistical Reference Datasets (published values 3).

Letters: R read in a public copy, C recomputed, M from memory of the document named. Norris's certified values are given
to 15 digits; sums here are exactly rounded, so 1e-12 is asked for.
"""

import math

import pytest

from commission.analysis.budget import readings
from commission.analysis.line_fit import LineFit, fit_line
from tests.published.rows import rows_of

NORRIS = rows_of("nist_strd_norris.csv")


@pytest.fixture(name="norris")
def line_of_norris() -> LineFit:
    """The line through the ozone monitors' readings."""
    return fit_line([float(row["x"]) for row in NORRIS], [float(row["y"]) for row in NORRIS])


@pytest.mark.parametrize(
    ("what", "certified"),
    [
        ("intercept", -0.262323073774029),
        ("slope", 1.00211681802045),
        ("intercept_standard", 0.232818234301152),
        ("slope_standard", 0.429796848199937e-3),
        ("scatter", 0.884796396144373),
        ("residual_squares", 26.6173985294224),
        ("r_squared", 0.999993745883712),
        ("f_statistic", 5436385.54079785),
    ],
)
def test_norris_calibration_of_ozone_monitors(norris: LineFit, what: str, certified: float) -> None:
    """3.6: 36 pairs, lower difficulty (Norris.dat, NIST StRD; R)."""
    explained = norris.total_squares - norris.residual_squares
    found = {
        "intercept": norris.value(0),
        "slope": norris.slope,
        "intercept_standard": norris.standard(0),
        "slope_standard": norris.slope_standard,
        "scatter": norris.scatter,
        "residual_squares": norris.residual_squares,
        "r_squared": 1 - norris.residual_squares / norris.total_squares,
        "f_statistic": explained / (norris.residual_squares / norris.freedom),
    }
    assert found[what] == pytest.approx(certified, rel=1e-11)


def spread(values: list[float]) -> float:
    """Standard deviation of one value, as a budget's line of readings has it."""
    return readings("x", values).standard * math.sqrt(len(values))


def test_three_large_whole_numbers() -> None:
    """3.7: NumAcc1, 10000001, 10000003, 10000002: standard deviation 1 exactly (NIST StRD; M, C)."""
    assert spread([10000001.0, 10000003.0, 10000002.0]) == pytest.approx(1.0, abs=1e-15)


@pytest.mark.parametrize(
    ("around", "tolerance"),
    [
        (1.2, 1e-13),  # 3.8: NumAcc2 (M)
        (1000000.2, 1e-9),  # 3.9: NumAcc3 (M)
        (10000000.2, 1e-8),  # 3.9: NumAcc4, the trap for one-pass formulas (M)
    ],
)
def test_a_thousand_and_one_alternating_values(around: float, tolerance: float) -> None:
    """The mean first, then 0.1 below and above in turn: standard deviation 0.1 (NIST StRD; M, C by exact fractions)."""
    values = [around, *(around - 0.1, around + 0.1) * 500]
    assert spread(values) == pytest.approx(0.1, abs=tolerance)

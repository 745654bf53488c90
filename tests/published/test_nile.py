"""
Annual flow of the Nile at Aswan, 1871 to 1970 (published values 7): one step in the mean,
"apparent changepoint near 1898".

Source: Cobb, Biometrika 65 (1978); data as shipped with an open statistics package (R); means and sums of squares C.
"""

import numpy as np
import pytest

from commission.analysis.trend import step_change
from tests.published.rows import rows_of

ROWS = rows_of("nile_annual_flow.csv")
FLOW = [float(row["volume_1e8_m3"]) for row in ROWS]


def test_the_step_is_after_1898() -> None:
    """7.4: the last year of the first part, exactly."""
    assert ROWS[step_change(FLOW).last_before]["year"] == "1898"


def test_means_before_and_after() -> None:
    """7.4: 1097.75 and 849.972222."""
    step = step_change(FLOW)
    assert [step.mean_before, step.mean_after] == pytest.approx([1097.75, 849.972222], abs=1e-4)


def test_sums_of_squares_with_and_without() -> None:
    """7.4: 1597457.194 against 2835156.75."""
    step = step_change(FLOW)
    assert [step.squares, step.squares_without] == pytest.approx([1597457.194, 2835156.75], abs=1e-3)


def test_no_other_year_does_better() -> None:
    """Referee: every split by NumPy."""
    flow = np.array(FLOW)
    squares = [part.var() * len(part) + rest.var() * len(rest) for part, rest in (
        (flow[:cut], flow[cut:]) for cut in range(2, 99)
    )]  # fmt: skip
    assert int(np.argmin(squares)) + 1 == step_change(FLOW).last_before

"""Tests of commission.report.trace."""

import pytest

from commission.report.trace import Trace


def test_series_belong_to_their_times() -> None:
    """A series of another length is refused, with the run's name."""
    with pytest.raises(ValueError, match="trace r1: 1 values of travel for 2 times"):
        Trace("r1", (0.0, 1.0), (0.5,))


@pytest.mark.parametrize("name", ["travel", "pressure_pa", "current_a"])
def test_a_point_that_was_not_read_is_empty(name: str) -> None:
    """Each series may be missing on its own."""
    assert getattr(Trace("r1", (0.0, 1.0)), name) == ()

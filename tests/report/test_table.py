"""Tests of commission.report.table."""

import pytest

from commission.report.table import Table


def test_a_row_fits_its_columns() -> None:
    """A row with another number of texts is refused: it would shift every cell after it."""
    with pytest.raises(ValueError, match="People: 1 texts for 2 columns"):
        Table(title="People", columns=("name", "role"), rows=(("Tess Placeholder",),))


def test_an_empty_table_says_so() -> None:
    """Nothing is never a blank."""
    assert Table(title="People", columns=("name",)).empty == "none"

"""Tests of the root finder."""

import pytest

from commission.practice.root import find_root


def test_root_is_found_in_a_bracket() -> None:
    """The cube root of two."""
    assert find_root(lambda x: x**3 - 2, 0.0, 2.0, 1e-12) == pytest.approx(2 ** (1 / 3), abs=1e-10)

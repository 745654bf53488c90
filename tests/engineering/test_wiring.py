"""Tests of cable sizes, drops and loops; the tables themselves are in tests/published/test_wires.py."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.engineering.wiring import Cable, UnknownSize, largest_loop_ohm, ohm_per_m


@pytest.mark.parametrize("size", ["AWG 10", "awg10", "2.5 mm²", "2.5mm2", "4 mm²"])
def test_sizes_as_people_write_them(size: str) -> None:
    """Upper and lower case, with and without a space."""
    assert ohm_per_m(size) > 0


@pytest.mark.parametrize("size", ["AWG 11", "3 mm²", "10", "", "2..5 mm²"])
def test_an_unknown_size_names_the_known_ones(size: str) -> None:
    """Never a guess at a cable."""
    with pytest.raises(UnknownSize, match="AWG 10"):
        ohm_per_m(size)


@given(one=st.floats(-40, 120), other=st.floats(-40, 120))
def test_warm_copper_resists_more(one: float, other: float) -> None:
    """By both tables."""
    cold, warm = sorted((one, other))
    for size in ("AWG 12", "4 mm²"):
        assert ohm_per_m(size, cold) <= ohm_per_m(size, warm)


@given(current=st.floats(0, 100), length=st.floats(1, 500))
def test_three_lines_lose_less_than_two(current: float, length: float) -> None:
    """√3 instead of 2 for the same current."""
    two = Cable(length_m=length, ohm_m=0.004)
    three = Cable(length_m=length, ohm_m=0.004, three_phase=True)
    assert three.drop_v(current) == pytest.approx(two.drop_v(current) * math.sqrt(3) / 2, rel=1e-12)
    assert two.left_v(24.0, current) == pytest.approx(24.0 - two.drop_v(current), rel=1e-12)


def test_a_loop_must_have_volts_left() -> None:
    """Nothing is left for the loop where the transmitter needs it all."""
    assert largest_loop_ohm(24.0, 10.0) == pytest.approx(636.36, abs=0.01)
    with pytest.raises(ValueError, match="lift-off"):
        largest_loop_ohm(10.0, 10.0)

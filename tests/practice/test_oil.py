"""Oil, air and nitrogen in a closed space."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.oil import Space, joined

ACCUMULATOR = Space(volume_m3=0.0, gas_m3=0.5e-3, precharge_pa=95e5)


def test_usable_volume_of_the_accumulator() -> None:
    """0.5 L at 95 bar gives 72 mL between 125 and 105 bar, slowly (trade guide 10.1 and 4.9, computed)."""
    usable_m3 = ACCUMULATOR.stored_m3(125e5) - ACCUMULATOR.stored_m3(105e5)
    assert usable_m3 * 1e6 == pytest.approx(72, abs=0.5)


def test_oil_alone_is_stiff() -> None:
    """4 L need 5.6 mL for 20 bar at 1.4 GPa (trade guide 3.1: 5.6 mL, from 3.927 L)."""
    oil = Space(volume_m3=3.927e-3)
    assert (oil.stored_m3(125e5) - oil.stored_m3(105e5)) * 1e6 == pytest.approx(5.6, abs=0.05)


def test_air_is_felt_at_low_pressure_only() -> None:
    """100 mL of air takes 98 mL to 53 bar, and 0.8 mL more to 125 bar (Boyle's law, by hand)."""
    aired = Space(volume_m3=0.0, air_m3=100e-6)
    assert aired.stored_m3(53e5) * 1e6 == pytest.approx(100 * (1 - 1.01325 / 54.01325), rel=1e-9)
    assert (aired.stored_m3(125e5) - aired.stored_m3(53e5)) * 1e6 < 1.2


def test_below_precharge_the_accumulator_is_empty() -> None:
    """No oil enters before the precharge is reached."""
    assert ACCUMULATOR.stored_m3(94.9e5) == 0.0
    assert ACCUMULATOR.stored_m3(95.1e5) > 0.0


spaces = st.builds(
    Space,
    volume_m3=st.floats(1e-5, 5e-3),
    air_m3=st.floats(0.0, 1e-4),
    gas_m3=st.sampled_from([0.0, 0.5e-3, 6e-3]),
    precharge_pa=st.floats(20e5, 120e5),
)


@given(spaces, st.floats(0.0, 200e5), st.floats(0.0, 4e-3))
def test_pressure_undoes_stored(space: Space, pressure_pa: float, swept_m3: float) -> None:
    """Any pressure comes back from the oil that it stores."""
    stored_m3 = space.stored_m3(pressure_pa, swept_m3)
    assert space.pressure_pa(stored_m3, swept_m3) == pytest.approx(pressure_pa, rel=1e-6, abs=50.0)


@given(spaces, st.floats(-1e-3, 0.0))
def test_pressure_never_falls_below_zero(space: Space, short_m3: float) -> None:
    """A space short of oil shows zero, not suction."""
    assert space.pressure_pa(short_m3) == 0.0


@given(st.floats(0.0, 200e5))
def test_two_joined_spaces_hold_what_both_hold(pressure_pa: float) -> None:
    """Opening the valve between two spaces at one pressure moves nothing."""
    line = Space(volume_m3=50e-6, air_m3=10e-6)
    both = joined(line, ACCUMULATOR)
    assert both.stored_m3(pressure_pa) == pytest.approx(
        line.stored_m3(pressure_pa) + ACCUMULATOR.stored_m3(pressure_pa), rel=1e-12
    )

"""Tests of the accumulator with a temperature of its own, against the gas laws (trade guide 4.9 to 4.11)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.bladder import Bladder


def at_cut_in() -> Bladder:
    """FCV-2204's, at 85 bar."""
    bladder = Bladder(6e-3, 76.5e5, 20.0)
    bladder.take(bladder.stored_at_m3(85e5))
    return bladder


def test_usable_volume() -> None:
    """Between 85 and 105 bar 6 L at 76.5 bar hold 1.02 L by the slow law."""
    bladder = at_cut_in()
    assert (bladder.stored_at_m3(105e5) - bladder.stored_m3) * 1000 == pytest.approx(1.02, abs=0.005)


def test_charging_is_slow_and_an_emergency_is_fast() -> None:
    """0.382 L out of 85 bar leave 77 bar (n = 1.4); the same oil back in gives 85 bar again."""
    bladder = at_cut_in()
    bladder.take(-0.382e-3)
    assert bladder.pressure_pa / 1e5 == pytest.approx(77.2, abs=0.2)
    assert bladder.gas_c < 15.0
    bladder.take(0.382e-3)
    assert bladder.pressure_pa / 1e5 == pytest.approx(85.0, abs=0.2)


def test_the_gas_warms_up_again() -> None:
    """Five minutes after, the gas has the steel's temperature and the slow law's pressure."""
    bladder = at_cut_in()
    bladder.take(-0.382e-3)
    bladder.rest(300.0)
    assert bladder.gas_c == pytest.approx(20.0, abs=0.1)
    assert bladder.pressure_pa == pytest.approx(86.013e5 * 5.4071 / (5.4071 + 0.382) - 1.013e5, rel=0.001)


def test_precharge_follows_temperature() -> None:
    """76.5 bar at 20 °C are 68.6 at -10 and 80.5 at 35 (trade guide 10.7)."""
    bladder = Bladder(6e-3, 76.5e5, 20.0)
    bladder.warm(-10.0)
    assert bladder.precharge_pa / 1e5 == pytest.approx(68.6, abs=0.05)
    bladder.warm(35.0)
    assert bladder.precharge_pa / 1e5 == pytest.approx(80.5, abs=0.05)


def test_without_gas_it_is_stiff() -> None:
    """A lost charge leaves steel and oil: 20 bar are 8.6 mL of 6 L, where the gas took a litre."""
    empty = Bladder(6e-3, 0.0, 20.0)
    assert not empty.charged
    assert (empty.stored_at_m3(105e5) - empty.stored_at_m3(85e5)) * 1e6 == pytest.approx(8.6, rel=0.02)
    assert empty.precharge_pa == 0.0


@given(st.lists(st.floats(-5e-4, 5e-4), max_size=30))
def test_it_gives_no_more_than_it_has(moves: list[float]) -> None:
    """What goes in and out adds up, and never below nothing."""
    bladder = Bladder(6e-3, 76.5e5, 20.0)
    moved = [bladder.take(move) for move in moves]
    assert bladder.stored_m3 == pytest.approx(sum(moved), abs=1e-15)
    assert bladder.stored_m3 >= 0.0
    assert bladder.pressure_pa >= 0.0


def test_work_and_heat_are_what_it_holds() -> None:
    """The first law: squeezed, rested, driven out, rested, through the precharge and back; a work by hand beside it."""
    bladder = Bladder(6e-3, 76.5e5, 20.0)
    for more_m3, seconds in ((1e-3, 0.0), (-6e-4, 30.0), (-5e-4, 5.0), (8e-4, 600.0)):
        bladder.take(more_m3)
        bladder.rest(seconds)
        assert bladder.work_j + bladder.heat_j == pytest.approx(bladder.energy_j, rel=1e-9, abs=1e-6)


def test_work_of_driving_oil_out_against_a_quadrature() -> None:
    """Pressure over the oil that goes, in ten thousand sips."""
    whole, sipped = Bladder(6e-3, 76.5e5, 20.0), Bladder(6e-3, 76.5e5, 20.0)
    for bladder in (whole, sipped):
        bladder.take(bladder.stored_at_m3(105e5))
    out_m3 = 0.8 * whole.stored_m3
    before_j, by_hand_j = whole.work_j, 0.0
    whole.take(-out_m3)
    for _ in range(10_000):
        began_pa = sipped.pressure_pa
        sipped.take(-out_m3 / 10_000)
        by_hand_j += (began_pa + sipped.pressure_pa) / 2 * out_m3 / 10_000
    assert before_j - whole.work_j == pytest.approx(by_hand_j, rel=1e-7)

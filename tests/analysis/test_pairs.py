"""Tests of friction and spring from an opening and a closing stroke."""

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.analysis.budget import Budget, normal, rectangular
from commission.analysis.pairs import friction_and_spring, pair_figures, piston_area_m2, valve_load
from commission.figure import Figure
from commission.sheet.model import Action
from tests.analysis.seen import SHEET

BAR = 1e5
AREA = piston_area_m2(SHEET)
OWN = rectangular("transmitter, 0.5 % of 0 to 160 bar", 0.8 * BAR)


def pressure(bar: float, *, place: int = 50, scatter_bar: float = 0.1) -> Figure:
    """A running pressure with its budget."""
    lines = (normal("scatter", scatter_bar * BAR), OWN)
    return Budget(lines).figure(f"running_pressure_{place}_pct", bar * BAR, "Pa", "test/1")


def test_mid_travel_of_xv_1101() -> None:
    """70.1 bar opening, 34.2 bar closing, bore 125 mm: friction 22 kN, spring 63.9 kN (trade guide 4.5, computed)."""
    friction, spring = friction_and_spring(0.5, pressure(70.1), pressure(34.2), AREA)
    assert friction.name == "friction_50_pct"
    assert friction.unrounded == pytest.approx(22.0e3, rel=0.005)
    assert spring.unrounded == pytest.approx(63.9e3, rel=0.005)
    assert (friction.unit, spring.unit) == ("N", "N")


def test_the_transmitters_error_adds_up_in_the_spring_and_not_in_the_friction() -> None:
    """One transmitter for both: its whole error in the sum, two independent halves of it in the difference."""
    friction, spring = friction_and_spring(0.5, pressure(70.0, scatter_bar=0), pressure(34.0, scatter_bar=0), AREA)
    assert float(spring.expanded_uncertainty) == pytest.approx(0.95 * 0.8 * BAR * AREA, rel=0.02)
    two = 0.8 * BAR * AREA / 2 * (2 - math.sqrt(8 * 0.025))
    assert float(friction.expanded_uncertainty) == pytest.approx(two, rel=0.02)


@given(st.floats(10, 120), st.floats(0, 60))
def test_friction_is_never_negative_where_opening_takes_more(bar: float, more: float) -> None:
    """And both together give the pressures back, as they are printed: to 1000 Pa."""
    friction, spring = friction_and_spring(0.5, pressure(bar + more), pressure(bar), AREA)
    assert friction.unrounded >= 0
    assert (spring.unrounded + friction.unrounded) / AREA == pytest.approx((bar + more) * BAR, abs=1500)


def test_where_oil_closes_the_two_change_places() -> None:
    """A fail-open unit: the closing stroke pushes against the spring."""
    friction, _ = friction_and_spring(0.5, pressure(34.0), pressure(70.0), AREA, pressure_opens=False)
    assert friction.unrounded > 0


def test_each_place_that_both_strokes_have() -> None:
    """Friction and spring at a quarter and a half; nothing at three quarters, where closing was not seen."""
    opening = {f"running_pressure_{p}_pct": pressure(70, place=p) for p in (25, 50, 75)}
    closing = {f"running_pressure_{p}_pct": pressure(34, place=p) for p in (25, 50)}
    names = [figure.name for figure in pair_figures(opening, closing, SHEET)]
    assert names == [
        "friction_25_pct", "spring_force_25_pct", "valve_load_25_pct",
        "friction_50_pct", "spring_force_50_pct", "valve_load_50_pct",
    ]  # fmt: skip


def test_friction_at_the_rod_is_a_torque_at_the_stem() -> None:
    """22.0 kN at half travel, arm 160 mm, efficiency 0.85: 3.0 kN·m, 55 % of the sheet's 5450 N·m."""
    friction, _ = friction_and_spring(0.5, pressure(70.1), pressure(34.2), AREA)
    load = valve_load(0.5, friction, SHEET)
    assert (load.name, load.unit) == ("valve_load_50_pct", "N·m")
    assert load.unrounded == pytest.approx(22.03e3 * 0.16 * 0.85, rel=0.005)
    assert load.unrounded == pytest.approx(0.55 * 5450, rel=0.01)
    assert {line.name for line in load.budget} == {"friction at the rod", "efficiency of the mechanism"}


def test_a_unit_without_a_spring_has_no_pair() -> None:
    """A double-acting unit needs both sides' pressures."""
    actuator = msgspec.structs.replace(SHEET.actuator, action=Action.DOUBLE_ACTING)
    figures = {"running_pressure_50_pct": pressure(70)}
    assert pair_figures(figures, figures, msgspec.structs.replace(SHEET, actuator=actuator)) == ()

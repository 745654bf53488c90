"""Tests of the load that breaks a valve away, at either end of travel."""

import msgspec
import pytest

from commission.analysis.breakaway import breakaway_load
from commission.figure import Figure, make_figure
from commission.sheet import End, Sheet
from tests.analysis.seen import SHEET
from tests.engineering.units import sheet_of


def at(bar: float, half_bar: float = 0.2) -> Figure:
    """A breakaway pressure."""
    return make_figure("breakaway_pressure", bar * 1e5, half_bar * 1e5, "Pa", "loads.stroke/1")


def with_tolerance(percent: float | None) -> Sheet:
    """The sheet with its spring's tolerance."""
    assert SHEET.spring is not None
    return msgspec.structs.replace(SHEET, spring=msgspec.structs.replace(SHEET.spring, tolerance_pct=percent))


def load(bar: float, towards: End, sheet: Sheet = SHEET) -> Figure:
    """The load of a unit with a spring."""
    found = breakaway_load(at(bar), towards, sheet)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("bar", "towards", "newton_metres"),
    [(53.1, End.OPEN, 0.55 * 9500), (65.9, End.OPEN, 9500), (53.5, End.CLOSED, 0.55 * 7100)],
)
def test_torque_at_first_motion(bar: float, towards: End, newton_metres: float) -> None:
    """The torque table of the station's papers, both ways round: the pressures that it prints give its torques."""
    found = load(bar, towards)
    assert found.unrounded == pytest.approx(newton_metres, rel=0.01)
    assert found.unit == "N·m"
    assert found.name == f"breakaway_load_{'opening' if towards is End.OPEN else 'closing'}"


def test_more_pressure_opening_and_less_closing_is_more_load() -> None:
    """A valve that sticks shows in both."""
    assert load(60.0, End.OPEN).unrounded > load(53.0, End.OPEN).unrounded
    assert load(48.2, End.CLOSED).unrounded > load(53.5, End.CLOSED).unrounded


def test_the_spring_is_most_of_what_is_unsure() -> None:
    """5 % where the sheet gives nothing, and said; its own tolerance where it does; without any the pressure's part."""
    unknown, known, exact = (load(53.1, End.OPEN, with_tolerance(percent)) for percent in (None, 2.0, 0.0))
    widths = [float(figure.expanded_uncertainty) for figure in (unknown, known, exact)]
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 2 * widths[2]
    assert "within 5 % (common practice, no source)" in unknown.note
    assert known.note == "spring as in the sheet, within 2 %"


def test_a_linear_valve_has_a_thrust_and_a_unit_without_a_spring_nothing() -> None:
    """BDV-3307 opens by its spring, 40 kN at the closed end."""
    found = breakaway_load(at(35.6), End.OPEN, sheet_of("bdv-3307"))
    assert found is not None
    assert found.unit == "N"
    assert found.unrounded == pytest.approx(40_000 - 35.6e5 * 7.854e-3, rel=1e-3)
    assert breakaway_load(at(50.0), End.OPEN, sheet_of("fcv-2204")) is None

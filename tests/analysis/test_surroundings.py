"""Tests of what a stroke was made in: oil temperature, supply before, at and after the start."""

import msgspec
import pytest

from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.surroundings import surroundings_figures
from commission.figure import Figure
from commission.sheet import End
from commission.sheet.decode import Reading, Readings
from commission.sheet.points import Transmitter
from tests.analysis.seen import SHEET


def opening(**left_out: bool) -> StrokeObserved:
    """Ten seconds of an opening stroke: the motor starts at 2 s, 26 V fall to 23.4 V and then run at 25.1 V."""
    seen = []
    for number in range(100):
        at_s = 0.1 * number
        volts = 26.0 if at_s < 2 else 23.4 if at_s < 2.6 else 25.1
        values = {"supply_voltage": volts, "motor_running": float(at_s >= 2), "oil_temperature": 4.0 + 0.1 * (at_s > 5)}
        shown = {role: value for role, value in values.items() if not left_out.get(role)}
        at_ns = round(at_s * 1e9)
        readings = {role: Reading(value, at_ns, 0) for role, value in shown.items()}
        seen.append(Readings(number + 1, at_ns, readings))
    return StrokeObserved(
        test="K1 open 1", direction=End.OPEN, command=None, seen=tuple(seen), ended=StrokeEnd.HOME
    )  # fmt: skip


def by_name(observed: StrokeObserved) -> dict[str, Figure]:
    """The figures by their names."""
    return {figure.name: figure for figure in surroundings_figures(observed, SHEET)}


def test_oil_and_supply_of_an_opening_stroke() -> None:
    """Each with its uncertainty; the dip is at least what two samples caught of it."""
    found = by_name(opening())
    assert found["oil_temperature"].unrounded == pytest.approx(4.049, abs=1e-3)
    assert found["oil_temperature"].unit == "degC"
    assert 0.04 < float(found["oil_temperature"].expanded_uncertainty) < 0.06  # the register's last digit, 0.1 °C
    assert found["supply_before_start"].unrounded == pytest.approx(26.0)
    assert found["supply_running"].unrounded == pytest.approx(25.1)
    assert found["supply_dip"].unrounded == pytest.approx(0.1)
    assert found["supply_dip"].lower_bound_only
    assert not found["supply_running"].lower_bound_only


def test_what_the_unit_does_not_show_is_left_out() -> None:
    """No motor start, as in a spring stroke: oil alone; no oil: supply alone; neither: nothing."""
    assert by_name(opening(motor_running=True)).keys() == {"oil_temperature"}
    assert "oil_temperature" not in by_name(opening(oil_temperature=True))
    assert by_name(opening(oil_temperature=True, supply_voltage=True)) == {}


def test_a_transmitters_own_error_is_in_the_budget_where_the_sheet_gives_it() -> None:
    """Else the note says that it is not."""
    assert "own error is not in it" in by_name(opening())["oil_temperature"].note
    known = Transmitter(low=-40.0, high=60.0, accuracy_pct=1.0)
    points = tuple(
        msgspec.structs.replace(point, transmitter=known) if point.role == "oil_temperature" else point
        for point in SHEET.points
    )
    (oil,) = surroundings_figures(opening(motor_running=True), msgspec.structs.replace(SHEET, points=points))
    assert oil.note == ""
    assert float(oil.expanded_uncertainty) == pytest.approx(0.95, rel=0.05)

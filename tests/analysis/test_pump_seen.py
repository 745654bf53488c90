"""Tests of the pump's volumetric efficiency from the time of a stroke."""

import msgspec
import pytest

from commission.analysis.pump_seen import pump_efficiency
from commission.figure import Figure, make_figure
from commission.sheet import End
from tests.analysis.seen import SHEET
from tests.engineering.units import sheet_of


def timed(seconds: float, *, at_least: bool = False) -> Figure:
    """A motion time."""
    return make_figure("motion_time", seconds, 0.1, "s", "timing.stroke/3", lower_bound_only=at_least)


def efficiency(seconds: float, volts: float | None = None) -> float:
    """Of XV-1101's pump, opening."""
    running = None if volts is None else make_figure("supply_running", volts, 0.05, "V", "supply_trace.readings/2")
    found = pump_efficiency(timed(seconds), running, End.OPEN, SHEET)
    assert found is not None
    assert found.unit == "1"
    return found.unrounded


def test_the_station_s_strokes() -> None:
    """146.3 s are 0.92, a worn pump's 192 s are 0.70; fewer volts, less displaced, more of it arrived."""
    assert efficiency(146.3) == pytest.approx(0.92, abs=0.001)
    assert efficiency(192.3) == pytest.approx(0.70, abs=0.001)
    assert efficiency(146.3 * 24 / 20.4, 20.4) == pytest.approx(0.92, abs=0.001)


def test_the_motors_speed_is_what_is_unsure() -> None:
    """5 % of it."""
    found = pump_efficiency(timed(146.3), None, End.OPEN, SHEET)
    assert found is not None
    assert float(found.expanded_uncertainty) == pytest.approx(0.95 * 0.05 * 0.92, rel=0.05)
    assert found.note == "at rated speed"


def test_only_where_the_pump_set_the_time() -> None:
    """Not of a spring stroke, of flow controls, of a time that is only "at least"."""
    assert pump_efficiency(timed(8.0), None, End.CLOSED, SHEET) is None
    assert pump_efficiency(timed(8.0), None, End.OPEN, sheet_of("fcv-2204")) is None
    assert pump_efficiency(timed(146.3, at_least=True), None, End.OPEN, SHEET) is None
    three_phase = msgspec.structs.replace(SHEET, supply=msgspec.structs.replace(SHEET.supply, phases="three-phase"))
    running = make_figure("supply_running", 400.0, 1.0, "V", "x")
    found = pump_efficiency(timed(146.3), running, End.OPEN, three_phase)
    assert found is not None
    assert found.unrounded == pytest.approx(0.92, abs=0.001)

"""Tests of what the sheet says of a stroke's figures, by their names."""

import pytest

from commission.engineering.beside import PLACES, SHARES, beside_stroke, computed_in_words
from commission.sheet.model import End
from tests.engineering.units import changed_unit, sheet_of


def test_the_closing_stroke_of_the_shutdown_valve() -> None:
    """Times in seconds and pressures in bar, by the names that measured figures bear."""
    found = beside_stroke(sheet_of("xv-1101"), End.CLOSED)
    assert {name: found[name].text for name in ("motion_time", "pressure_at_start", "pressure_at_end")} == {
        "motion_time": "8.00 s",
        "pressure_at_start": "53.5 bar",
        "pressure_at_end": "25.0 bar",
    }
    assert found["travel_50_pct_time"].value == pytest.approx(3.61, abs=0.01)
    assert found["running_pressure_50_pct"].value == pytest.approx(34.2, abs=0.05)
    assert "empty line, oil 20 °C" in found["motion_time"].origin
    assert "motor_run" not in found


def test_a_pumped_stroke_has_its_motor_run_and_its_dead_time() -> None:
    """Response is motion and build-up; the motor runs on until cut-out."""
    found = beside_stroke(sheet_of("xv-1101"), End.OPEN)
    assert found["response_time"].value > found["motion_time"].value
    assert found["motor_run"].value > found["response_time"].value


@pytest.mark.parametrize("tag", ["xv-1101", "bdv-3307"])
@pytest.mark.parametrize("towards", list(End))
def test_running_pressures_and_crossings_lie_in_order(tag: str, towards: End) -> None:
    """Crossings rise along the way; a spring's pressure falls as it relaxes."""
    found = beside_stroke(sheet_of(tag), towards)
    crossings = [found[f"travel_{share}_pct_time"].value for share in SHARES]
    assert crossings == sorted(crossings)
    assert all(f"running_pressure_{place}_pct" in found for place in PLACES)


def test_a_flow_control_says_times_and_no_pressures() -> None:
    """What the cylinder shows then is the proportional valve's business."""
    found = beside_stroke(sheet_of("fcv-2204"), End.OPEN)
    assert found["motion_time"].text == "8.00 s"
    assert "pressure_at_start" not in found
    assert computed_in_words(sheet_of("fcv-2204"), End.OPEN) == "8.00 s"


def test_one_line_for_the_walk() -> None:
    """Time, and pressure from first to last motion."""
    assert computed_in_words(sheet_of("xv-1101"), End.CLOSED) == "8.00 s, 53.5 to 25.0 bar"


def test_where_nothing_can_be_said_nothing_is() -> None:
    """No area of the way out, a spring too weak to finish, a sheet that contradicts itself."""
    silent = changed_unit("xv-1101", "orifices", spring_stroke_mm2=None).sheet
    weak = changed_unit("xv-1101", "spring", force_at_closed_n=5000.0).sheet
    odd = changed_unit("xv-1101", "fluid", viscosity_at_c={"40": 14.0, "-40": 4.0}).sheet
    for sheet in (silent, weak, odd):
        assert beside_stroke(sheet, End.CLOSED) == {}
        assert computed_in_words(sheet, End.CLOSED) == ""


def test_a_sheet_is_computed_once() -> None:
    """A screen that is drawn again asks for the same object."""
    sheet = sheet_of("xv-1101")
    assert beside_stroke(sheet, End.CLOSED) is beside_stroke(sheet, End.CLOSED)

"""How a partial stroke follows oil temperature and supply, by the sheet's physics."""

import msgspec
import pytest

from commission.engineering.partial_travel import partial_times, speed_share
from tests.analysis.seen import SHEET


def test_at_the_reference_it_is_the_sheets_own_stroke() -> None:
    """10 s out to 15 %, 28 s back (trade guide 10.1)."""
    found = partial_times(SHEET, 20.0, 24.0)
    assert found["time_to_target"] == pytest.approx(10.0, rel=0.01)
    assert found["return_time"] == pytest.approx(28.0, rel=0.03)
    assert found["speed"] == pytest.approx(0.015, rel=0.02)


def test_thicker_oil_is_slower_out_and_quicker_back() -> None:
    """The return line holds it up; the pump slips less."""
    warm, cold = partial_times(SHEET, 20.0, 24.0), partial_times(SHEET, -20.0, 24.0)
    assert cold["time_to_target"] > warm["time_to_target"]
    assert cold["speed"] < warm["speed"]
    assert cold["return_time"] < warm["return_time"]


def test_a_direct_current_motor_follows_its_volts_below_nominal() -> None:
    """One eighth less makes it more than one eighth slower, for slip does not shrink; the way out does not know it."""
    full, low = partial_times(SHEET, 20.0, 24.0), partial_times(SHEET, 20.0, 21.0)
    assert low["return_time"] / full["return_time"] > 24.0 / 21.0
    assert low["time_to_target"] == full["time_to_target"]
    assert (speed_share(SHEET, 27.0), speed_share(SHEET, 21.0)) == (1.0, 0.875)
    mains = msgspec.structs.replace(SHEET, supply=msgspec.structs.replace(SHEET.supply, phases="3"))
    assert speed_share(mains, 21.0) == 1.0


def test_what_the_sheet_does_not_tell_is_said_or_left_out() -> None:
    """An oil outside its table; a unit without a partial stroke."""
    with pytest.raises(ValueError, match="oil table does not tell its viscosity at -60 °C"):
        partial_times(SHEET, -60.0, 24.0)
    assert partial_times(msgspec.structs.replace(SHEET, partial_stroke=None), 20.0, 24.0) == {}
    bare = msgspec.structs.replace(SHEET.orifices, partial_stroke_mm2=None)
    assert set(partial_times(msgspec.structs.replace(SHEET, orifices=bare), 20.0, 24.0)) == {"return_time"}

"""Tests of how somebody's wishes become one set-up."""

import msgspec
import pytest

from commission.practice.faults import NoSuchFault
from commission.practice.setup import AS_THE_SHEET_SAYS, Setup, setup_of
from commission.practice.trouble import NoSuchTrouble
from tests.practice.made import BDV, SHEET


def test_nothing_asked_is_the_sheet() -> None:
    """No scenario, no fault, no trouble: as the sheet says."""
    assert setup_of(SHEET) == AS_THE_SHEET_SAYS


def test_everything_adds_up() -> None:
    """A scenario, then months, then faults, then the line."""
    setup = setup_of(SHEET, "twelve-months-later", ["worn-pump=0.5"], ["drop=0.1"], months=12.0)
    assert setup.start == "open"
    assert setup.condition.friction_factor == pytest.approx(1.45 * 1.3)
    assert setup.condition.volumetric_efficiency == pytest.approx(0.92 - 0.02 - 0.22)
    assert setup.line.drop == 0.1


def test_a_set_up_survives_its_json() -> None:
    """It is handed to the unit's process as text."""
    setup = setup_of(SHEET, "the-day", ["limit-loose"])
    assert msgspec.json.decode(msgspec.json.encode(setup), type=Setup) == setup


@pytest.mark.parametrize(
    ("asked", "error"),
    [
        ({"scenario": "no-such"}, NoSuchFault),
        ({"faults": ["rotation-reversed"]}, NoSuchFault),
        ({"line": ["noise=1"]}, NoSuchTrouble),
        ({"months": -1.0}, NoSuchFault),
    ],
)
def test_what_does_not_exist_is_refused(asked: dict[str, object], error: type[Exception]) -> None:
    """By name, before anything is served."""
    with pytest.raises(error):
        setup_of(BDV, **asked)  # type: ignore[arg-type]  # wrong on purpose


def test_a_fault_of_the_line_is_asked_for_like_any_other() -> None:
    """By name with severity, or in a scenario; one of the unit beside it stays one of the unit."""
    setup = setup_of(SHEET, faults=["duplicate-address=0.4", "no-termination", "tight-packing=0.3"])
    assert setup.line.duplicate == 0.4
    assert setup.line.garbage == pytest.approx(0.2)
    assert setup.condition.friction_factor == pytest.approx(1.45)
    assert setup_of(SHEET, "duplicate-address").line.duplicate == 0.5

"""Tests of areas, oil and tank."""

from commission.engineering.topics.volumes import volumes
from tests.engineering.units import changed_unit, unit_of


def test_a_double_acting_unit_has_two_of_each() -> None:
    """Piston side and rod side."""
    topic = volumes(unit_of("fcv-2204"))
    opening, closing = topic.find("volume.open"), topic.find("volume.close")
    assert opening is not None
    assert closing is not None
    assert (opening.text, closing.text) == ("0.3047 L", "0.3820 L")


def test_a_tank_that_runs_low_is_said() -> None:
    """The level at full stroke stands above the switch, or BELOW it."""
    low = volumes(changed_unit("xv-1101", "tank", low_switch_l=8.0)).find("tank.lowest")
    assert low is not None
    assert "BELOW" in low.note
    fine = volumes(unit_of("xv-1101")).find("tank.lowest")
    assert fine is not None
    assert fine.note.startswith("above")


def test_a_stroke_that_contradicts_the_mechanism_is_said() -> None:
    """An arm of another radius moves the rod another way."""
    odd = volumes(changed_unit("xv-1101", "actuator", arm_radius_mm=120.0)).find("mechanism.rod")
    assert odd is not None
    assert "the sheet says 320 mm" in odd.note
